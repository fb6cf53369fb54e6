import { execFileSync } from 'node:child_process';
import type { Browser, Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { accessibilityFaults, launch } from './browser';
import { ANFRACT, type Program, scratch, serve } from './program';

const PASSWORD = 'an invented passphrase';

describe('a record with accounts', () => {
  const folder = scratch();
  const data = `${folder.path}/data`;
  let browser: Browser;
  let program: Program;
  let page: Page;

  const account = (...args: string[]): void => {
    execFileSync(ANFRACT, ['account', ...args, '--data', data], { input: `${PASSWORD}\n`, stdio: ['pipe', 'ignore', 'inherit'] });
  };

  beforeAll(async () => {
    program = await serve(data);
    browser = await launch();
    page = await (await browser.newContext({ viewport: { width: 1280, height: 800 }, baseURL: program.url })).newPage();
    page.setDefaultTimeout(20_000);
  });

  afterAll(async () => {
    await browser?.close();
    await program?.stop();
    folder.clean();
  });

  it('asks nobody before there is an account', async () => {
    await page.goto('/');
    await page.getByRole('heading', { name: 'Scans and cases' }).waitFor();
    expect(await page.getByRole('button', { name: 'Sign out' }).count()).toBe(0);
  });

  it('asks from the moment there is one, refuses a wrong password, and lets in', async () => {
    account('add', 'ada', '--role', 'clinician');
    await page.reload();
    const password = page.getByLabel('Password');
    await password.waitFor();
    expect(await page.getByRole('heading', { name: 'Scans and cases' }).count()).toBe(0);
    expect(await accessibilityFaults(page)).toEqual([]);
    await page.getByLabel('Account').fill('ada');
    await password.fill('a wrong passphrase');
    await page.getByRole('button', { name: 'Sign in' }).click();
    await page.getByText('The name or the password is wrong.').waitFor();
    await password.fill(PASSWORD);
    await page.keyboard.press('Enter');
    await page.getByRole('heading', { name: 'Scans and cases' }).waitFor();
    await page.getByText('ada', { exact: true }).waitFor();
    // Scripts of the page cannot read the session.
    expect(await page.evaluate(() => document.cookie)).toBe('');
    await page.reload();
    await page.getByRole('heading', { name: 'Scans and cases' }).waitFor();
  });

  it('lets the password be changed by who knows it', async () => {
    await page.getByRole('button', { name: 'ada', exact: true }).click();
    const dialog = page.getByRole('dialog');
    const fill = async (old: string, wanted: string, again: string): Promise<void> => {
      await dialog.getByLabel('Password until now').fill(old);
      await dialog.getByLabel('New password', { exact: true }).fill(wanted);
      await dialog.getByLabel('New password again').fill(again);
      await dialog.getByRole('button', { name: 'Change it' }).click();
    };
    await fill(PASSWORD, 'one new passphrase', 'another new passphrase');
    await dialog.getByText('was not typed the same twice').waitFor();
    await fill('a wrong passphrase', PASSWORD, PASSWORD);
    await dialog.getByText('The password until now is wrong.').waitFor();
    expect(await accessibilityFaults(page)).toEqual([]);
    await fill(PASSWORD, PASSWORD, PASSWORD);
    await dialog.getByText('The password is changed.').waitFor();
    await dialog.getByRole('button', { name: 'Close' }).click();
  });

  it('asks again when the account is disabled, and after signing out', async () => {
    account('disable', 'ada');
    await page.reload();
    await page.getByLabel('Password').waitFor();
    account('enable', 'ada');
    await page.getByLabel('Account').fill('ada');
    await page.getByLabel('Password').fill(PASSWORD);
    await page.keyboard.press('Enter');
    await page.getByRole('button', { name: 'Sign out' }).click();
    await page.getByLabel('Password').waitFor();
    const reply = await page.request.get('api/cases');
    expect(reply.status()).toBe(401);
  });
});
