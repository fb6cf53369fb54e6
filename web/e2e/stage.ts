import type { Browser, BrowserContextOptions, Page } from 'playwright-core';
import { afterAll, beforeAll, expect, it } from 'vitest';
import { type Watch, launch, watch } from './browser';
import { type InventedCase, type Program, inventCase, scratch, serve, tracedCase } from './program';

interface Wish {
  /** Kind of invented tooth. */
  kind: string;
  voxel_mm?: number;
  /** How far the case is before the browser opens; left out: a scan that nobody opened. */
  upTo?: 'traced' | 'planned';
  context?: BrowserContextOptions;
  /** What the browser remembers of an earlier visit. */
  settings?: Record<string, unknown>;
}

/** The program on invented data and one page on it, for the tests of one file. */
export interface Stage {
  folder: string;
  made: InventedCase;
  program: Program;
  caseId: string;
  browser: Browser;
  page: Page;
  seen: Watch;
  /** A further browser that knows nothing of the first. */
  another: (context?: BrowserContextOptions) => Promise<Page>;
}

export function onStage({ kind, voxel_mm, upTo, context, settings }: Wish): Stage {
  const folder = scratch();
  const stage = { folder: folder.path, caseId: '' } as Stage;
  stage.another = async (wish) => {
    const page = await (await stage.browser.newContext({ viewport: { width: 1280, height: 800 }, baseURL: stage.program.url, ...wish })).newPage();
    page.setDefaultTimeout(30_000);
    return page;
  };
  beforeAll(async () => {
    stage.made = inventCase(folder.path, kind, voxel_mm);
    stage.program = await serve(`${folder.path}/data`);
    if (upTo) stage.caseId = await tracedCase(stage.program, stage.made, upTo === 'planned');
    stage.browser = await launch();
    stage.page = await stage.another({ ...context, ...(settings && { storageState: remembering(stage.program.url, settings) }) });
    stage.seen = watch(stage.page, stage.program.url);
  });
  afterAll(async () => {
    await stage.browser?.close();
    await stage.program?.stop();
    folder.clean();
  });
  return stage;
}

const remembering = (url: string, settings: Record<string, unknown>): BrowserContextOptions['storageState'] => ({
  cookies: [],
  origins: [{ origin: new URL(url).origin, localStorage: [{ name: 'anfract.settings', value: JSON.stringify(settings) }] }],
});

/** The last test of each file. What the browser itself says of a refused connection is not an error of the page. */
export function neverFailed(stage: Stage): void {
  it('never failed in the browser and never asked another machine', () => {
    expect(stage.seen.errors).toEqual([]);
    expect(stage.seen.strangers).toEqual([]);
  });
}
