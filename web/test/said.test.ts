import { readFileSync } from 'node:fs';
import { resolve } from 'node:path';
import { describe, expect, it } from 'vitest';
import { said, saidIn } from '../src/model/said';
import { language } from '../src/model/words';
import { PLAN_GERMAN } from '../src/model/plan-words-de';
import { RECORD_GERMAN } from '../src/model/record-words-de';
import { REFUSAL_GERMAN } from '../src/model/refusal-words-de';
import { SCAN_GERMAN } from '../src/model/scan-words-de';

const de = (text: string): string | null => saidIn('de', text);

describe('sentences of the program in German', () => {
  it('keep their figures, with a comma', () => {
    expect(de('Suggested working depth 19.5 mm: 0.5 mm short of the foramen, to be verified with an apex locator and a radiograph.')).toBe(
      'Vorgeschlagene Arbeitstiefe 19,5 mm: 0,5 mm vor dem Foramen, mit Apexlokator und Röntgenbild zu prüfen.',
    );
    expect(de('Thinnest 0.41 mm, error of measurement 0.10 mm.')).toBe('Am dünnsten 0,41 mm, Messfehler 0,10 mm.');
  });

  it('are put together of clauses and sentences', () => {
    expect(de('Widens; bends to 0.9 % strain at 16.4 mm; binds along 3.1 mm; goes in 3 times, cutting a little each time.')).toBe(
      'Erweitert; biegt sich bis 0,9 % Dehnung bei 16,4 mm; klemmt auf 3,1 mm Länge; geht 3-mal hinein und trägt jedes Mal ein wenig ab.',
    );
    expect(de('Finds the way without apical push; bends to 1.3 % strain at 17.2 mm; to lie in the curve without load it is bent beforehand round a radius of 3.1 mm, 0.5 mm to 4.0 mm from its tip.')).toBe(
      'Findet den Weg ohne Druck zum Apex; biegt sich bis 1,3 % Dehnung bei 17,2 mm; damit sie ohne Last in der Krümmung liegt, wird sie vorher um einen Radius von 3,1 mm gebogen, 0,5 mm bis 4,0 mm von ihrer Spitze.',
    );
    expect(de('Suggested final size: Rotary file 025/.04, 25 mm. Wider is not needed: three sizes above the canal\'s own width.')).toBe(
      'Vorgeschlagene letzte Größe: Rotierende Feile 025/.04, 25 mm. Weiter ist nicht nötig: drei Größen über der eigenen Weite des Kanals.',
    );
  });

  it('say which single item would change what the tray cannot do', () => {
    const note =
      'No instrument in the tray reaches the working depth; the one that gets furthest, Hand file 010/.02, 21 mm, stops at 14.2 mm because of stiffness (bending it round the curve takes a push of 2.10 N; the limit is 2.00 N, and it presses hardest at 13.9 mm); one item that would change this: hand file 008, 25 mm. With it the canal could be taken to Rotary file 015/.04, 25 mm.';
    expect(de(note)).toMatch(/Steifigkeit.*Grenze ist 2,00 N.*ändern würde: Handfeile 008, 25 mm\. Damit käme/);
  });

  it('stay whole in English when a part of them is not known', () => {
    expect(de('Widens; sings a song.')).toBeNull();
    expect(de('Radius 3.1 mm. And something new.')).toBeNull();
  });

  it('tell of a canal that may be there, also beside one with a name of its own', () => {
    expect(de('A further canal is possible (24 in 100): 1.2 mm B of canal main, first sign at a depth of 8.9 mm, where 2.0 mm of dentine are left to the root\'s surface.')).toMatch(/^Ein weiterer Kanal.*24 von 100.*1,2 mm B von Kanal main/);
  });

  it('tell of canals that join', () => {
    expect(de('Suggested working depth 13.8 mm: this canal joins MB there and is worked no further; the way on to the foramen is shaped through MB. To be verified with a cone in MB and a file in this canal, which marks it at the join.')).toMatch(/mündet dieser Kanal in MB.*durch MB geformt.*Stift in MB/);
    expect(de('ML joins at about 12.7 mm: this canal is shaped first and to its working depth, ML to the join only. The cone of this canal goes in first, past the join.')).toMatch(/^ML mündet bei etwa 12,7 mm/);
  });

  it('tell of the wall toward the furcation', () => {
    expect(de('Toward the furcation the wall of canal ML is thinnest, 0.9 mm, at a depth of 11.2 mm, 3.1 mm below its orifice; the root is hollow there, by 0.4 mm.')).toBe(
      'Zur Furkation hin ist die Wand von Kanal ML am dünnsten, 0,9 mm, in 11,2 mm Tiefe, 3,1 mm unter seinem Eingang; die Wurzel ist dort eingezogen, um 0,4 mm.',
    );
  });

  it('say what is refused, where and what to do', () => {
    expect(de('/no/where: there is no such file or folder; check the name.')).toBe('/no/where: diese Datei oder diesen Ordner gibt es nicht; den Namen prüfen.');
    expect(de('/no/where: something new went wrong; do something.')).toBeNull();
    language.value = 'en';
    expect(said('the point: no tooth is to be seen at the point; give a point in the pulp chamber or the middle of the crown.')).toBe('No tooth is to be seen at the point; give a point in the pulp chamber or the middle of the crown.');
  });

  it('say what the stock and the record refuse, and where', () => {
    expect(de("line 3, column 'pieces': 'many' is not a count; write a whole number.")).toBe('Zeile 3, Spalte „pieces“: „many“ ist keine Anzahl; eine ganze Zahl schreiben.');
    expect(de('the file: is not the archive of a case; give a file that \'anfract archive export\' wrote.')).toBe('die Datei: ist nicht das Archiv eines Falls; eine Datei geben, die dieses Programm als Archiv geschrieben hat.');
    expect(de('too many large files are being made; try again in a moment.')).toBe('zu viele große Dateien werden gerade erstellt; gleich noch einmal versuchen.');
  });

  // Each is read in its source, so that a sentence that is changed there is changed here as well.
  it('hold what the stock refuses', () => {
    const text = ['stock.cpp', 'stock_csv.cpp', 'stock_count.cpp'].map((f) => readFileSync(resolve(import.meta.dirname, '..', '..', 'lib', 'record', 'src', f), 'utf8').replace(/"\s*\n\s*"/g, '')).join('\n');
    const whole = REFUSAL_GERMAN.slice(REFUSAL_GERMAN.findIndex(([from]) => from.startsWith('line '))).map(([from]) => from.replace(/^!/, '')).filter((from) => !from.includes('{'));
    const stock = whole.slice(0, whole.indexOf('the plan has no canal to write about'));
    expect(stock.length).toBeGreaterThan(15);
    expect(stock.filter((from) => !text.includes(from))).toEqual([]);
  });

  it('say of a device why it does not serve, with its name and without', () => {
    const why = 'would shift the canal by 0.21 mm at 17.0 mm';
    expect(de(`${why}.`)).toBe('würde den Kanal bei 17,0 mm um 0,21 mm verlagern.');
    expect(de(`Hand file 020/.02, 25 mm ${why}.`)).toBe('Handfeile 020/.02, 25 mm würde den Kanal bei 17,0 mm um 0,21 mm verlagern.');
    expect(de(`The next larger, Hand file 020/.02, 25 mm, ${why}.`)).toBe('Die nächstgrößere, Handfeile 020/.02, 25 mm, würde den Kanal bei 17,0 mm um 0,21 mm verlagern.');
  });

  it('know a cannula by its gauge', () => expect(de('Steel cannula 30G, 21 mm')).toBe('Stahlkanüle 30G, 21 mm'));

  it('leave names of devices alone that the user gave', () => expect(de('The final size stays my.favourite 7.')).toBe('Die letzte Größe bleibt my.favourite 7.'));

  it('have the same places on both sides, and no sentence twice', () => {
    const all = [...PLAN_GERMAN, ...SCAN_GERMAN, ...REFUSAL_GERMAN, ...RECORD_GERMAN];
    const places = (text: string): string => [...text.matchAll(/\{d?\d\}/g)].map((m) => m[0]).sort().join(' ');
    expect(all.filter(([from, into]) => places(from) !== places(into))).toEqual([]);
    for (const pairs of [PLAN_GERMAN, SCAN_GERMAN, REFUSAL_GERMAN, RECORD_GERMAN]) expect(new Set(pairs.map(([from]) => from)).size).toBe(pairs.length);
    expect(all.filter(([from, into]) => from.endsWith('.') || into.endsWith('.'))).toEqual([]);
  });

  const source = (...file: string[]): string => readFileSync(resolve(import.meta.dirname, '..', '..', ...file), 'utf8').replace(/"\s*\n\s*"/g, '');
  const literals = (text: string): string[] => [...text.matchAll(/"((?:[^"\\]|\\.)*)"/g)].map((m) => (m[1] ?? '').replace(/\\(.)/g, '$1'));

  it('hold what follows from the record of a case', () => {
    const points = literals(source('lib', 'record', 'src', 'difficulty.cpp')).filter((s) => s.endsWith('.'));
    expect(points.length).toBeGreaterThan(10);
    const codes = literals(source('lib', 'record', 'src', 'diagnosis.cpp')).filter((s) => /^\p{Lu}\w+ /u.test(s));
    expect(codes.length).toBeGreaterThan(6);
    const followUp = literals(source('lib', 'record', 'src', 'follow_up.cpp').replace(/^[^]*outcome_by_ese|fail\([^;]*;/g, '').replace(/recall\.lesion == "\w+"/g, ''));
    const said = followUp.filter((s) => /^(?:un)?(?:favourable|certain)$|\b\w+ \w+/.test(s));
    expect(said.length).toBeGreaterThan(7);
    expect([...points, ...codes, ...said].filter((s) => de(s) === null)).toEqual([]);
    expect(de('canal MB2 bends by 23 degrees and twice, in an S')).toBe('Kanal MB2 biegt sich um 23 Grad und zweimal, als S');
    expect(de('beside canal MB it is 0.7 mm thick at 17.5 mm depth')).toBe('neben Kanal MB ist sie in 17,5 mm Tiefe 0,7 mm dick');
    expect(de('canal MB2 is there with a probability of 0.62')).toBe('Kanal MB2 ist mit einer Wahrscheinlichkeit von 0,62 da');
  });

  it('warn of another patient', () => {
    expect(de('The scan names another patient than the notes: Inventa Musterfrau, not Inventa Mustermann. Check whose scan this is before anything is done or given out.')).toMatch(/andere Person als die Akte: Inventa Musterfrau, nicht Inventa Mustermann\. Prüfen/);
    expect(de('The scan gives another date of birth than the notes: 1970-01-31, not 1970-01-30. Check whose scan this is before anything is done or given out.')).toMatch(/Geburtsdatum als die Akte: 1970-01-31, nicht 1970-01-30\./);
  });

  it('hold every caution and every warning the program can give', () => {
    const cautions = literals(source('lib', 'plan', 'src', 'cautions.cpp')).filter((s) => s.includes(' '));
    expect(cautions.length).toBeGreaterThan(6);
    const warnings = literals(source('lib', 'plan', 'src', 'warnings.cpp')).filter((s) => /^\p{Lu}.* .*\.$/u.test(s));
    expect(warnings.length).toBeGreaterThan(12);
    expect([...cautions, ...warnings].filter((s) => de(s) === null)).toEqual([]);
  });
});
