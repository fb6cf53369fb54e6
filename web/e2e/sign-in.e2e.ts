import { execFileSync } from 'node:child_process';
import type { Browser, Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { accessibilityFaults, launch, picture } from './browser';
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

  it('lets a clinician keep the accounts of others, with their own password', async () => {
    const signsIn = async (): Promise<number> => {
      const elsewhere = await browser.newContext({ baseURL: program.url });
      const reply = await elsewhere.request.post('api/session', { data: { account: 'bea', password: 'one new passphrase' } });
      await elsewhere.close();
      return reply.status();
    };
    await page.getByRole('button', { name: 'ada', exact: true }).click();
    const others = page.getByRole('dialog').getByRole('region', { name: 'Accounts of others' });
    await others.getByLabel('Name', { exact: true }).fill('bea');
    await others.getByLabel('Role').selectOption('assistant');
    await others.getByLabel('First password').fill(PASSWORD);
    await others.getByLabel('Your own password').fill('a wrong passphrase');
    await others.getByRole('button', { name: 'Add an account' }).click();
    await others.getByText('Your own password is wrong.').waitFor();
    await others.getByLabel('Your own password').fill(PASSWORD);
    await others.getByRole('button', { name: 'Add an account' }).click();
    await others.getByText('Assistant', { exact: true }).first().waitFor();
    expect(await accessibilityFaults(page)).toEqual([]);
    await others.getByRole('button', { name: 'New password, bea' }).click();
    await others.getByLabel('New password of bea').fill('one new passphrase');
    await others.getByRole('button', { name: 'Change it' }).click();
    await others.getByText('Done for bea').waitFor();
    await others.getByRole('button', { name: 'Lock, bea' }).click();
    await others.getByRole('button', { name: 'Unlock, bea' }).waitFor();
    await picture(page, 'accounts');
    expect(await signsIn()).toBe(401);
    await others.getByRole('button', { name: 'Unlock, bea' }).click();
    await others.getByRole('button', { name: 'Lock, bea' }).waitFor();
    expect(await signsIn()).toBe(200);
    await page.getByRole('dialog').getByRole('button', { name: 'Close' }).click();
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
