import { execFileSync } from 'node:child_process';
import type { Browser, Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { accessibilityFaults, launch } from './browser';
import { ANFRACT, type Program, inventCase, scratch, serve, tracedCase } from './program';

describe('the record of a case', () => {
  const folder = scratch();
  let browser: Browser;
  let program: Program;
  let page: Page;
  let caseId: string;

  beforeAll(async () => {
    program = await serve(`${folder.path}/data`);
    caseId = await tracedCase(program, inventCase(folder.path, 'upper-lateral', 0.2), false);
    browser = await launch();
    page = await (await browser.newContext({ viewport: { width: 1280, height: 800 }, baseURL: program.url })).newPage();
    page.setDefaultTimeout(20_000);
    await page.goto(`/#/case/${caseId}`);
  });

  afterAll(async () => {
    await browser?.close();
    await program?.stop();
    folder.clean();
  });

  it('is written down in a form and says what follows', async () => {
    await page.getByRole('button', { name: 'Record', exact: true }).click();
    const form = page.getByRole('dialog');
    await form.getByLabel('Question asked').fill('Why does it hurt?');
    await form.getByLabel('Pulpal').selectOption('pulp-necrosis');
    await form.getByLabel('Periapical', { exact: true }).or(form.getByLabel('Apical', { exact: true })).selectOption('acute-apical-abscess');
    for (const factor of ['mouth-opening', 'isolation', 'emergency']) {
      await form.getByRole('button', { name: 'Add: Clinical factors' }).click();
      await form.getByLabel('Factor').last().selectOption(factor);
      await form.getByLabel('Grade').last().selectOption('moderate');
    }
    await form.getByRole('button', { name: 'Save', exact: true }).click();
    await form.getByText(/Version 1,/).waitFor();
    // Three moderate factors make high; K04.7 is the code of the abscess: see the method page of the record.
    await form.getByText('High', { exact: true }).last().waitFor();
    await form.getByText(/K04\.7/).waitFor();
    expect(await accessibilityFaults(page)).toEqual([]);
    const told = execFileSync(ANFRACT, ['case', 'show', caseId, '--data', `${folder.path}/data`], { encoding: 'utf8' });
    expect(told).toContain('Why does it hurt?');
  });

  it('stores nothing when somebody else saved meanwhile, and keeps what was typed', async () => {
    const form = page.getByRole('dialog');
    await form.getByLabel('Prognosis').fill('good');
    const other = await page.request.put(`api/cases/${caseId}/record`, { data: { based_on: 1, record: { prognosis: 'fair' } } });
    expect(other.status()).toBe(200);
    await form.getByRole('button', { name: 'Save', exact: true }).click();
    await form.getByRole('alert').waitFor();
    expect(await form.getByLabel('Prognosis').inputValue()).toBe('good');
    await form.getByRole('button', { name: 'Keep what I typed' }).click();
    await form.getByText(/Version 2,/).waitFor();
    await form.getByRole('button', { name: 'Save', exact: true }).click();
    await form.getByText(/Version 3,/).waitFor();
  });

  it('warns when the notes name another patient than the scan, and keeps them', async () => {
    const form = page.getByRole('dialog');
    await form.getByLabel('Name', { exact: true }).fill('Inventa Mustermann');
    await form.getByRole('button', { name: 'Save', exact: true }).click();
    await form.getByText(/Version 4,/).waitFor();
    await form.getByRole('alert').filter({ hasText: 'Case Invented, not Inventa Mustermann' }).waitFor();
    expect(await accessibilityFaults(page)).toEqual([]);
  });
});
