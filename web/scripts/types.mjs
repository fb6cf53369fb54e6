// Makes src/api/types/NAME.ts from ../api/NAME.schema.json, so that the page and the programs cannot drift apart.
import { mkdir, readdir, readFile, writeFile } from 'node:fs/promises';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { compile } from 'json-schema-to-typescript';

const here = dirname(fileURLToPath(import.meta.url));
const schemas = join(here, '..', '..', 'api');
const out = join(here, '..', 'src', 'api', 'types');

await mkdir(out, { recursive: true });
for (const file of (await readdir(schemas)).filter((f) => f.endsWith('.schema.json'))) {
  const name = file.replace('.schema.json', '');
  const schema = JSON.parse(await readFile(join(schemas, file), 'utf8'));
  const text = await compile(schema, name, {
    bannerComment: `/* Generated from api/${file} by npm run types; do not edit. */`,
    additionalProperties: false,
    ignoreMinAndMaxItems: false,
    maxItems: 4,
    format: false,
  });
  const path = join(out, `${name}.ts`);
  const old = await readFile(path, 'utf8').catch(() => '');
  if (old !== text) await writeFile(path, text);
}
