import { type ChildProcess, execFileSync, spawn } from 'node:child_process';
import { existsSync, mkdtempSync, readFileSync, readdirSync, rmSync, writeFileSync } from 'node:fs';
import { createServer } from 'node:net';
import { tmpdir } from 'node:os';
import { join, resolve } from 'node:path';
import { zipSync } from 'fflate';

const ROOT = resolve(import.meta.dirname, '..', '..');
export const ANFRACT = process.env.ANFRACT ?? join(ROOT, 'build', 'release', 'bin', 'anfract');
/** While working on the page: a folder to serve instead of the page the program was built with. */
const PAGE = process.env.ANFRACT_PAGE === undefined ? [] : ['--page', process.env.ANFRACT_PAGE];

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

export function inventCase(into: string, kind: string, voxel_mm = 0.125): InventedCase {
  if (!existsSync(ANFRACT)) throw new Error(`${ANFRACT} is not there; build the program first`);
  const out = join(into, kind);
  execFileSync(ANFRACT, ['phantom', kind, '--out', out, '--seed', '1', '--voxel', String(voxel_mm)], { stdio: 'pipe' });
  const truth = JSON.parse(readFileSync(join(out, 'truth.json'), 'utf8')) as {
    inside_mm: [number, number, number];
    reference_mm: [number, number, number];
    tooth: { tooth: { fdi: string } };
  };
  return { scan: join(out, 'scan'), fdi: truth.tooth.tooth.fdi, inside_mm: truth.inside_mm, reference_mm: truth.reference_mm };
}

/** A folder of files as one zip, such as a user would send. */
export function zipped(folder: string, into: string): string {
  const files = Object.fromEntries(readdirSync(folder).map((name) => [name, new Uint8Array(readFileSync(join(folder, name)))]));
  writeFileSync(into, zipSync(files, { level: 1 }));
  return into;
}

function end(child: ChildProcess, signal: NodeJS.Signals): Promise<void> {
  if (child.exitCode !== null || child.signalCode !== null) return Promise.resolve();
  return new Promise((done) => {
    child.once('exit', () => done());
    child.kill(signal);
  });
}

/** Opens the invented scan and has it traced and, if wished, planned, as the page does; the case's id. */
export async function tracedCase(program: Program, made: InventedCase, planned: boolean): Promise<string> {
  const post = async (path: string, body: unknown): Promise<Record<string, string>> => {
    const reply = await fetch(program.url + path, { method: 'POST', headers: { 'Content-Type': 'application/json' }, body: JSON.stringify(body) });
    if (!reply.ok) throw new Error(`${path}: ${await reply.text()}`);
    return (await reply.json()) as Record<string, string>;
  };
  const scan = await post('api/scans', { path: made.scan });
  const traced = await post(`api/scans/${scan.id}/traces`, { inside_mm: made.inside_mm, reference_mm: made.reference_mm, fdi: made.fdi });
  const caseId = await jobEnd(program, traced.job ?? '');
  if (planned) await jobEnd(program, (await post(`api/cases/${caseId}/plan`, {})).job ?? '');
  return caseId;
}

/** Waits for a job; the case it tells of. */
async function jobEnd(program: Program, job: string): Promise<string> {
  const events = await (await fetch(`${program.url}api/jobs/${job}/events`)).text();
  const done = /event: done\ndata: (.*)/.exec(events)?.[1];
  if (done === undefined) throw new Error(`the job did not end well: ${events.slice(-300)}`);
  return (JSON.parse(done) as { case: string }).case;
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
  /** Ends it as a crash or a power cut would. */
  kill: () => Promise<void>;
}

/** Starts `anfract serve` on a port (a free one, unless told) and data folder of its own and waits until it answers. */
export async function serve(data: string, at?: number): Promise<Program> {
  const port = at ?? (await freePort());
  const child: ChildProcess = spawn(ANFRACT, ['serve', '--port', String(port), '--data', data, ...PAGE], { stdio: ['ignore', 'pipe', 'pipe'] });
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
        stop: () => end(child, 'SIGINT'),
        kill: () => end(child, 'SIGKILL'),
      };
    }
    await new Promise((r) => setTimeout(r, 100));
  }
  child.kill('SIGKILL');
  throw new Error(`anfract serve did not answer within 10 s: ${log}`);
}
