// Fails the build when what the page loads grows beyond 400 kB gzip.
import { readdir, readFile } from 'node:fs/promises';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { gzipSync } from 'node:zlib';

const limit_kB = 400;
const dist = join(dirname(fileURLToPath(import.meta.url)), '..', 'dist');
const files = (await readdir(dist, { recursive: true, withFileTypes: true })).filter((f) => f.isFile());
let total_kB = 0;
for (const file of files) {
  total_kB += gzipSync(await readFile(join(file.parentPath, file.name))).length / 1000;
}
console.log(`page: ${total_kB.toFixed(1)} kB gzip in ${files.length} files, limit ${limit_kB} kB`);
if (total_kB > limit_kB) process.exit(1);
