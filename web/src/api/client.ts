import type { About, Candidate, CaseDetail, CaseSummary, EditedParts, EditList, Measures, Passage, Passages, Plan, RehearseRequest, Scan, ScanDetail, ScanSource, TraceRequest, Tray, Device } from './documents';
import type { Movement, NewMovement, ReorderLine, StockAnswer } from '../model/stock';
import type { RecordVersion } from '../model/record';
import type { Entry, NewEntry } from '../model/chair/log';
import type { GridGeometry } from '../model/grid';
import { t } from '../model/words';

/** What the server said when it could not do something: one sentence for the reader, and a code. */
export class ServerError extends Error {
  constructor(
    readonly status: number,
    readonly code: string,
    readonly sentence: string,
    readonly candidates: readonly Candidate[] = [],
    /** Id of a file that was sent and waits for one of the candidates to be chosen. */
    readonly upload: string | null = null,
  ) {
    super(sentence);
  }
}

async function failure(response: Response): Promise<ServerError> {
  const fallback = t('error.status', { status: response.status });
  try {
    const body = (await response.json()) as { error?: { code?: string; sentence?: string }; candidates?: Candidate[]; upload?: string };
    return new ServerError(response.status, body.error?.code ?? 'unknown', body.error?.sentence ?? fallback, body.candidates ?? [], body.upload ?? null);
  } catch {
    return new ServerError(response.status, 'unknown', fallback);
  }
}

async function send(path: string, init?: RequestInit): Promise<Response> {
  let response: Response;
  try {
    response = await fetch(path, init);
  } catch (cause) {
    if (cause instanceof DOMException && cause.name === 'AbortError') throw cause;
    throw new ServerError(0, 'unreachable', t('error.unreachable'));
  }
  if (!response.ok) {
    const error = await failure(response);
    if (error.code === 'sign_in') signedOut();
    throw error;
  }
  return response;
}

let signedOut = (): void => undefined;
/** Sets what is done when the program says that nobody is signed in any more. */
export function whenSignedOut(act: () => void): void {
  signedOut = act;
}

export const changed = (path: string, method: 'GET' | 'POST' | 'PUT' | 'DELETE', body?: unknown): Promise<Response> =>
  send(path, body === undefined ? { method } : { method, headers: { 'Content-Type': 'application/json' }, body: JSON.stringify(body) });

async function get<T>(path: string): Promise<T> {
  return (await (await send(path)).json()) as T;
}

async function post<T>(path: string, body: unknown, signal?: AbortSignal): Promise<T> {
  const response = await send(path, {
    method: 'POST',
    headers: { 'Content-Type': 'application/json' },
    body: JSON.stringify(body),
    signal: signal ?? null,
  });
  return (await response.json()) as T;
}

export interface BrickReply {
  geometry: GridGeometry;
  values: Int16Array;
}

const id = encodeURIComponent;

export const readRecord = (caseId: string): Promise<RecordVersion> => get(`api/cases/${id(caseId)}/record`);
export const getAbout = (): Promise<About> => get('api/about');
export const getScans = async (): Promise<Scan[]> => (await get<{ scans: Scan[] }>('api/scans')).scans;
export const getScan = (scan: string): Promise<ScanDetail> => get(`api/scans/${id(scan)}`);
export const getCases = async (): Promise<CaseSummary[]> => (await get<{ cases: CaseSummary[] }>('api/cases')).cases;
export const getCase = (caseId: string): Promise<CaseDetail> => get(`api/cases/${id(caseId)}`);
export const getMeasures = (caseId: string): Promise<Measures> => get(`api/cases/${id(caseId)}/measures`);
export const getTray = (): Promise<Tray> => get('api/tray');
export const getPassages = (caseId: string): Promise<Passages> => get(`api/cases/${id(caseId)}/passages`);
export const getPlan = (caseId: string): Promise<Plan> => get(`api/cases/${id(caseId)}/plan`);
/** Has a document that takes seconds made as a job; it is read when the job is done. */
export const makeDocument = async (caseId: string, document: 'passages' | 'plan'): Promise<string> =>
  (await post<{ job: string }>(`api/cases/${id(caseId)}/${document}`, {})).job;
/** The log must not wait for a program that hangs: what waits is kept and sent later. */
const LOG_TIMEOUT_MS = 8000;
export const getLog = async (caseId: string): Promise<{ entries: Entry[] }> =>
  (await (await send(`api/cases/${id(caseId)}/log`, { signal: AbortSignal.timeout(LOG_TIMEOUT_MS) })).json()) as { entries: Entry[] };
export const postLog = async (caseId: string, entries: readonly NewEntry[]): Promise<readonly Entry[]> =>
  (await post<{ entries: Entry[] }>(`api/cases/${id(caseId)}/log`, { entries }, AbortSignal.timeout(LOG_TIMEOUT_MS))).entries;
export const letterAddress = (caseId: string): string => `api/cases/${id(caseId)}/letter.pdf?show=yes`;

export interface GotFile {
  /** As the program named it. */
  name: string;
  bytes: Blob;
}

/** @param keep the case keeps what it hands out */
export async function getFile(path: string, signal: AbortSignal, keep: boolean): Promise<GotFile> {
  const response = await send(path, keep ? { method: 'POST', headers: { 'Content-Type': 'application/json' }, body: '{}', signal } : { signal });
  const name = /filename="([^"]+)"/.exec(response.headers.get('Content-Disposition') ?? '')?.[1] ?? 'anfract';
  return { name, bytes: await response.blob() };
}

/** Takes the archive of a case into the record; the case's id. */
export async function sendArchive(file: File): Promise<string> {
  const response = await send('api/archives', { method: 'POST', headers: { 'Content-Type': 'application/octet-stream' }, body: file });
  return ((await response.json()) as { case: string }).case;
}

export const getStock = (): Promise<StockAnswer> => get('api/stock');
export const getReorder = async (): Promise<ReorderLine[]> => (await get<{ lines: ReorderLine[] }>('api/stock/reorder')).lines;
export const getMovements = async (item: string): Promise<Movement[]> => (await get<{ movements: Movement[] }>(`api/stock/items/${id(item)}/movements`)).movements;
export const putItem = async (item: string, device: Device, minimum: number): Promise<StockAnswer> =>
  (await (await changed(`api/stock/items/${id(item)}`, 'PUT', { device, minimum })).json()) as StockAnswer;
export const postMovements = (movements: readonly NewMovement[]): Promise<StockAnswer> => post('api/stock/movements', { movements });
export const sendStockCsv = async (text: string): Promise<StockAnswer> =>
  (await (await send('api/stock/stock.csv', { method: 'POST', headers: { 'Content-Type': 'text/csv' }, body: text })).json()) as StockAnswer;

export const openScan = (source: ScanSource, series_uid?: string): Promise<Scan> =>
  post('api/scans', series_uid === undefined ? source : { ...source, series_uid });

export const rehearse = (caseId: string, request: RehearseRequest, signal: AbortSignal): Promise<Passage> =>
  post(`api/cases/${id(caseId)}/rehearse`, request, signal);

export const getEdits = (caseId: string): Promise<EditList & { open: boolean; possible: boolean }> => get(`api/cases/${id(caseId)}/edits`);

/** Begins to prepare a tooth for correcting; the job is done when edits are quick. */
export const openEdits = async (caseId: string): Promise<string> => (await post<{ job: string }>(`api/cases/${id(caseId)}/edits/open`, {})).job;

/** The tooth after a list of edits; kept as the case's tooth, or only looked at while something is dragged. */
export const sendEdits = (caseId: string, list: EditList, keep: boolean, based_on: number): Promise<EditedParts> =>
  post(`api/cases/${id(caseId)}/edits`, { ...list, keep, based_on });

export const startTrace = async (scan: string, request: TraceRequest): Promise<string> =>
  (await post<{ job: string }>(`api/scans/${id(scan)}/traces`, request)).job;

export const cancelJob = async (job: string): Promise<void> => {
  await send(`api/jobs/${id(job)}`, { method: 'DELETE', headers: { 'Content-Type': 'application/json' } });
};

export async function uploadScan(file: File): Promise<Scan> {
  const response = await send(`api/uploads?name=${id(file.name)}`, {
    method: 'POST',
    headers: { 'Content-Type': 'application/octet-stream' },
    body: file,
  });
  return (await response.json()) as Scan;
}

/** Grey values of a part of a scan, or of the whole; `step` averages blocks of step x step x step voxels. */
export async function getBrick(scan: string, query: { centre_mm?: readonly number[]; half_mm?: readonly number[]; step?: number }): Promise<BrickReply> {
  const search = new URLSearchParams();
  if (query.centre_mm) search.set('centre', query.centre_mm.map((x) => x.toFixed(4)).join(','));
  if (query.half_mm) search.set('half', query.half_mm.map((x) => x.toFixed(4)).join(','));
  if (query.step && query.step > 1) search.set('step', String(query.step));
  const response = await send(`api/scans/${id(scan)}/brick?${search.toString()}`);
  const header = response.headers.get('X-Anfract-Grid');
  if (header === null) throw new ServerError(200, 'malformed', t('error.noGrid'));
  const geometry = JSON.parse(header) as GridGeometry;
  const bytes = await response.arrayBuffer();
  const [ni, nj, nk] = geometry.size;
  if (bytes.byteLength !== 2 * ni * nj * nk) {
    throw new ServerError(200, 'malformed', t('error.bytes', { got: bytes.byteLength, wanted: 2 * ni * nj * nk }));
  }
  return { geometry, values: new Int16Array(bytes) };
}
