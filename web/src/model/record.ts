import { signal } from '@preact/signals';
import { ServerError, changed, readRecord } from '../api/client';

/** What is written down of a case, as api/case.schema.json has it; edited as plain values. */
export type Notes = { [key: string]: Value };
export type Value = string | number | boolean | Value[] | Notes | undefined;

export interface Recall {
  date: string;
  outcome?: string;
  periapical_index_text?: string;
}
/** What the program makes of it together with the measured tooth. */
export interface RecordFindings {
  icd10: { code: string; text: string }[];
  difficulty: { grade: string; factors: { factor: string; grade: string; because: string }[] };
  consent: { point: string; because: string }[];
  recalls: { due: string[]; done: Recall[] };
  /** Where the notes tell of another patient than the scan. */
  patient: string[];
}
export interface RecordVersion {
  version: number;
  made: string;
  author: string;
  record: Notes;
  findings: RecordFindings;
}

/** A form that is filled in: what it began with, and what it holds now. */
export interface Draft {
  caseId: string;
  base: RecordVersion;
  notes: Notes;
  saved: boolean;
  sentence: string | null;
}

export const draft = signal<Draft | null>(null);

export async function openRecord(caseId: string): Promise<void> {
  const base = await readRecord(caseId);
  draft.value = { caseId, base, notes: structuredClone(base.record), saved: true, sentence: null };
}

export function change(notes: Notes): void {
  if (draft.value) draft.value = { ...draft.value, notes, saved: false, sentence: null };
}

/** Without what was left empty: a form has more fields than a record has facts. */
export function withoutEmpty(value: Value): Value {
  if (Array.isArray(value)) {
    const kept = value.map(withoutEmpty).filter((one) => one !== undefined);
    return kept.length === 0 ? undefined : kept;
  }
  if (typeof value === 'object') {
    const kept = Object.entries(value).map(([key, one]) => [key, withoutEmpty(one)] as const).filter(([, one]) => one !== undefined);
    return kept.length === 0 ? undefined : Object.fromEntries(kept);
  }
  return value === '' ? undefined : value;
}

/** Stores the next version. When another one was saved meanwhile nothing is stored, and what was typed stays in the form. */
export async function saveRecord(): Promise<void> {
  const now = draft.value;
  if (!now) return;
  const record = (withoutEmpty(now.notes) as Notes | undefined) ?? {};
  try {
    await changed(`api/cases/${encodeURIComponent(now.caseId)}/record`, 'PUT', { based_on: now.base.version, record });
    await openRecord(now.caseId);
  } catch (error) {
    if (!(error instanceof ServerError)) throw error;
    draft.value = { ...now, sentence: error.sentence };
  }
}

/** After somebody else saved: their version becomes the base, and what was typed here is saved over it, as a version of its own. */
export async function takeTheirsAsBase(): Promise<void> {
  const now = draft.value;
  if (!now) return;
  const base = await readRecord(now.caseId);
  draft.value = { ...now, base, sentence: null };
}
