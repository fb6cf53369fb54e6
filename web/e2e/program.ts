import { type ChildProcess, execFileSync, spawn } from 'node:child_process';
import { existsSync, mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { createServer } from 'node:net';
import { tmpdir } from 'node:os';
import { join, resolve } from 'node:path';

const ROOT = resolve(import.meta.dirname, '..', '..');
const ANFRACT = join(ROOT, 'build', 'release', 'bin', 'anfract');

/** The invented scan the tests look at, and what is true of it. */
export interface InventedCase {
  scan: string;
  fdi: string;
  inside_mm: [number, number, number];
  reference_mm: [number, number, number];
}

/** A folder of its own for a test run; removed by `clean`. */
export function scratch(): { path: string; clean: () => void } {
  const path = mkdtempSync(join(tmpdir(), 'anfract-e2e-'));
  return { path, clean: () => rmSync(path, { recursive: true, force: true }) };
}

export function inventCase(into: string, kind: string): InventedCase {
  if (!existsSync(ANFRACT)) throw new Error(`${ANFRACT} is not there; build the program first`);
  const out = join(into, kind);
  execFileSync(ANFRACT, ['phantom', kind, '--out', out, '--seed', '1'], { stdio: 'pipe' });
  const truth = JSON.parse(readFileSync(join(out, 'truth.json'), 'utf8')) as {
    inside_mm: [number, number, number];
    reference_mm: [number, number, number];
    tooth?: { fdi?: string };
  };
  const fdi = truth.tooth?.fdi ?? '37';
  return { scan: join(out, 'scan'), fdi, inside_mm: truth.inside_mm, reference_mm: truth.reference_mm };
}

function freePort(): Promise<number> {
  return new Promise((done, fail) => {
    const probe = createServer();
    probe.once('error', fail);
    probe.listen(0, '127.0.0.1', () => {
      const address = probe.address();
      const port = typeof address === 'object' && address ? address.port : 0;
      probe.close(() => done(port));
    });
  });
}

export interface Program {
  url: string;
  /** What it wrote to stderr so far. */
  log: () => string;
  stop: () => Promise<void>;
}

/** Starts `anfract serve` on a port and data folder of its own and waits until it answers. */
export async function serve(data: string): Promise<Program> {
  const port = await freePort();
  const child: ChildProcess = spawn(ANFRACT, ['serve', '--port', String(port), '--data', data], { stdio: ['ignore', 'pipe', 'pipe'] });
  let log = '';
  child.stdout?.on('data', (chunk: Buffer) => (log += chunk.toString()));
  child.stderr?.on('data', (chunk: Buffer) => (log += chunk.toString()));
  const url = `http://127.0.0.1:${port}/`;
  for (let attempt = 0; attempt < 100; attempt++) {
    if (child.exitCode !== null) throw new Error(`anfract serve ended at once: ${log}`);
    const answered = await fetch(`${url}api/about`).then((r) => r.ok).catch(() => false);
    if (answered) {
      return {
        url,
        log: () => log,
        stop: () =>
          new Promise((done) => {
            child.once('exit', () => done());
            child.kill('SIGINT');
          }),
      };
    }
    await new Promise((r) => setTimeout(r, 100));
  }
  child.kill('SIGKILL');
  throw new Error(`anfract serve did not answer within 10 s: ${log}`);
}
