import { existsSync, readFileSync } from 'node:fs';
import { resolve } from 'node:path';
import { describe, expect, it } from 'vitest';
import { ORIGINS, sourceName } from '../src/model/origins';

const DOCS = resolve(import.meta.dirname, '..', '..', 'docs');
const references = readFileSync(resolve(DOCS, 'references.bib'), 'utf8');

describe('where numbers come from', () => {
  it('names pages and sources that are there', () => {
    for (const [name, { method, sources }] of Object.entries(ORIGINS)) {
      expect(existsSync(resolve(DOCS, 'methods', `${method}.md`)), `${name}: ${method}.md`).toBe(true);
      for (const key of sources) expect(references, `${name}: ${key}`).toContain(`{${key},`);
    }
  });

  it('writes sources as they are spoken of', () => {
    expect(sourceName('Schneider1971')).toBe('Schneider 1971');
    expect(sourceName('ISO3630-1')).toBe('ISO 3630-1');
    expect(sourceName('LimStock1987')).toBe('Lim, Stock 1987');
  });
});
