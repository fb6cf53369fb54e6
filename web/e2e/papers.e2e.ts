import { readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { accessibilityFaults, picture } from './browser';
import { serve, zipped } from './program';
import { neverFailed, onStage } from './stage';

describe('papers and files of a case', () => {
  const stage = onStage({ kind: 'upper-lateral', voxel_mm: 0.2, upTo: 'planned', settings: { language: 'en', guided: true } });

  /** What the browser is handed when that is pressed. */
  async function got(name: string): Promise<{ name: string; bytes: Buffer }> {
    const [file] = await Promise.all([stage.page.waitForEvent('download'), stage.page.getByRole('dialog').getByRole('button', { name, exact: true }).click()]);
    return { name: file.suggestedFilename(), bytes: readFileSync(await file.path()) };
  }

  it('are handed to the browser under names that do not name the patient', async () => {
    const { page, caseId } = stage;
    const put = await page.request.put(`api/cases/${caseId}/record`, { data: { based_on: 0, record: { patient: { name: 'Inventa Mustermann' } } } });
    expect(put.status()).toBe(200);
    await page.goto(`/#/case/${caseId}`);
    await page.getByRole('button', { name: 'Papers and files' }).click();
    // How each kind of file begins: PDF and ZIP by their magic numbers, the rest is text.
    const files: [string, string, string][] = [
      ['Letter to the referring dentist, PDF', `anfract-letter-${caseId}.pdf`, '%PDF-'],
      ['Letter to the referring dentist, HTML', `anfract-letter-${caseId}.html`, '<!'],
      ['Leaflet for the patient, PDF', `anfract-leaflet-${caseId}.pdf`, '%PDF-'],
      ['Discharge letter, HTML', `anfract-discharge-${caseId}.html`, '<!'],
      ['FHIR bundle, JSON', `anfract-fhir-${caseId}.json`, '{'],
      ['DICOM objects, ZIP', `anfract-dicom-${caseId}.zip`, 'PK'],
      ['Archive of the case, ZIP', `anfract-archive-${caseId}.zip`, 'PK'],
    ];
    for (const [button, name, begin] of files) {
      const file = await got(button);
      expect(file.name).toBe(name);
      expect(file.bytes.subarray(0, begin.length).toString('latin1')).toBe(begin);
      if (button.startsWith('Archive')) writeFileSync(join(stage.folder, 'case.zip'), file.bytes);
    }
    await page.getByText('Handed to the browser: Archive of the case').waitFor();
    const kept = async (): Promise<number> => {
      const { files } = (await (await page.request.get(`api/cases/${caseId}/files`)).json()) as { files: { kind: string }[] };
      return files.filter((file) => ['letter', 'leaflet', 'discharge'].includes(file.kind)).length;
    };
    expect(await kept()).toBe(4);
    // A look at it in another language, of which the case keeps nothing.
    await page.getByRole('dialog').getByText('German', { exact: true }).click();
    await page.getByRole('dialog').getByText('keep a copy with the case').click();
    const german = await got('Discharge letter, HTML');
    expect(german.bytes.toString('utf8')).toContain('lang="de"');
    expect(await kept()).toBe(4);
    expect(await accessibilityFaults(page)).toEqual([]);
    await picture(page, 'papers');
  });

  it('include a model to print, and say what scale cannot be', async () => {
    const { page } = stage;
    const dialog = page.getByRole('dialog');
    await dialog.getByText('A block').click();
    await dialog.getByLabel('Scale').fill('99');
    expect(await dialog.getByRole('button', { name: 'Model with hollow canals, STL' }).isDisabled()).toBe(true);
    await dialog.getByLabel('Scale').fill('2');
    const model = await got('Model with hollow canals, STL');
    // Binary STL: 80 bytes, the count of triangles, 50 bytes each (from memory).
    expect(model.bytes.length).toBe(84 + 50 * model.bytes.readUInt32LE(80));
  });

  it('come back from the archive in another practice', async () => {
    const other = await serve(join(stage.folder, 'other'));
    try {
      const page = await stage.another({ baseURL: other.url });
      await page.goto('/');
      await page.getByLabel('Take in the archive of a case').setInputFiles({ name: 'no.zip', mimeType: 'application/zip', buffer: Buffer.from('no archive') });
      await page.getByRole('alert').waitFor();
      await page.getByLabel('Take in the archive of a case').setInputFiles(join(stage.folder, 'case.zip'));
      await page.getByRole('button', { name: 'Record', exact: true }).click();
      await page.getByRole('dialog').getByLabel('Name').first().waitFor();
      expect(await page.getByRole('dialog').getByLabel('Name').first().inputValue()).toBe('Inventa Mustermann');
      await page.close();
    } finally {
      await other.stop();
    }
  });

  it('and what came in meanwhile is there when the page is looked at again', async () => {
    const { page } = stage;
    await page.goto('/#/');
    const rows = page.getByRole('region', { name: 'Scans' }).getByRole('row');
    await rows.nth(1).waitFor();
    const before = await rows.count();
    const sent = await page.request.post('api/uploads?name=seen-later.zip', { data: readFileSync(zipped(stage.made.scan, join(stage.folder, 'scan.zip'))), headers: { 'Content-Type': 'application/octet-stream' } });
    expect(sent.status()).toBe(201);
    expect(await rows.count()).toBe(before);
    await page.evaluate(() => document.dispatchEvent(new Event('visibilitychange', { bubbles: true })));
    await expect.poll(() => rows.count()).toBe(before + 1);
  });

  neverFailed(stage);
});
