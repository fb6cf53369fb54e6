import { execFileSync } from 'node:child_process';
import { readFileSync } from 'node:fs';
import type { Browser, Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { type Watch, accessibilityFaults, launch, picture, watch } from './browser';
import { ANFRACT, type Program, scratch, serve } from './program';

const day = (days: number): string => new Date(Date.now() + days * 86_400_000).toISOString().slice(0, 10);

describe('the stock', () => {
  const folder = scratch();
  let browser: Browser;
  let program: Program;
  let page: Page;
  let seen: Watch;

  const csv = (text: string): { name: string; mimeType: string; buffer: Buffer } => ({ name: 'count.csv', mimeType: 'text/csv', buffer: Buffer.from(text) });
  const item = (): ReturnType<Page['getByRole']> => page.getByRole('complementary', { name: /./ }).last();

  beforeAll(async () => {
    program = await serve(`${folder.path}/data`);
    browser = await launch();
    page = await (await browser.newContext({ viewport: { width: 1280, height: 800 }, baseURL: program.url, locale: 'en-GB' })).newPage();
    page.setDefaultTimeout(20_000);
    seen = watch(page, program.url);
  });

  afterAll(async () => {
    await browser?.close();
    await program?.stop();
    folder.clean();
  });

  it('begins with a device, which is counted in by the keyboard alone', async () => {
    await page.goto('/');
    await page.getByRole('link', { name: 'Stock' }).press('Enter');
    await page.getByText('Nothing is in stock yet.').waitFor();
    const add = page.getByLabel('New item');
    await add.selectOption({ index: 1 });
    await page.getByRole('button', { name: 'Take into stock' }).press('Enter');
    await page.getByLabel('Pieces').waitFor();
    await page.getByLabel('Pieces').fill('3');
    await page.keyboard.press('Tab');
    await page.keyboard.type('L-1');
    await page.getByLabel('Expires on').fill(day(30));
    await page.getByRole('button', { name: 'Count in' }).press('Enter');
    await item().getByRole('cell', { name: 'L-1' }).waitFor();
    expect(await item().getByText('3 counted in').count()).toBe(1);
    const told = execFileSync(ANFRACT, ['stock', 'list', '--data', `${folder.path}/data`], { encoding: 'utf8' });
    expect(told).toMatch(/\b3\b/);
  });

  it('says what expires, what is past its date and what to order', async () => {
    await item().getByLabel('Minimum').fill('5');
    await item().getByLabel('Uses per piece').fill('4');
    await item().getByRole('button', { name: 'Save limits' }).click();
    await page.getByText('To order · 1').click();
    await page.getByRole('row', { name: /5\s*2$/ }).waitFor();
    await item().getByLabel('Pieces').fill('1');
    await item().getByLabel('Lot', { exact: true }).fill('L-0');
    await item().getByLabel('Expires on').fill(day(-1));
    await item().getByRole('button', { name: 'Count in' }).click();
    await item().getByRole('row', { name: /L-0.*past/ }).waitFor();
    await page.getByText('Expiring · 1').click();
    await page.getByRole('row', { name: /past/ }).first().waitFor();
    expect(await accessibilityFaults(page)).toEqual([]);
    await picture(page, 'stock');
  });

  it('refuses what cannot be, in one sentence, and changes nothing', async () => {
    await item().getByText('Discard', { exact: true }).first().click();
    await item().getByLabel('Pieces').fill('50');
    await item().getByLabel('Lot', { exact: true }).fill('L-1');
    await item().getByRole('button', { name: 'Discard' }).click();
    await page.getByRole('alert').getByText(/has fewer pieces left/).waitFor();
    expect(await item().getByText(/discarded/).count()).toBe(0);
  });

  it('goes out as CSV and comes back as a count, with errors that say line and column', async () => {
    const [file] = await Promise.all([page.waitForEvent('download'), page.getByRole('button', { name: 'Save as CSV' }).click()]);
    expect(file.suggestedFilename()).toBe('stock.csv');
    const text = readFileSync(await file.path(), 'utf8');
    const rows = text.trim().split('\r\n');
    expect(rows).toHaveLength(3);
    await page.getByLabel('Take in a count (CSV)').setInputFiles(csv(text.replace(/,3,/, ',many,')));
    await page.getByRole('alert').getByText(/line \d, column 'pieces'/).waitFor();
    await page.getByLabel('Take in a count (CSV)').setInputFiles(csv(text.replace(/,3,/, ',2,')));
    await item().getByText('1 discarded').waitFor();
  });

  it('speaks German', async () => {
    await page.getByRole('button', { name: 'Settings' }).click();
    await page.getByText('Deutsch').click();
    await page.getByRole('button', { name: 'Schließen' }).click();
    await page.getByRole('heading', { name: 'Bestand' }).waitFor();
    await page.getByLabel('Eine Zählung einlesen (CSV)').setInputFiles(csv('item;pieces\nfile-7;1\n'));
    await page.getByRole('alert').getByText(/Zeile 2, Spalte „item“: „file-7“ ist nicht im Bestand/).waitFor();
    await picture(page, 'stock-de');
    expect(seen.errors).toEqual([]);
    expect(seen.strangers).toEqual([]);
  });
});
