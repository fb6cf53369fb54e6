/** Which of the places of the workspace is shown, kept in the address after the #. */
export type Route = { page: 'start' } | { page: 'stock' } | { page: 'locate'; scan: string } | { page: 'work'; caseId: string } | { page: 'chair'; caseId: string };

export function parseRoute(hash: string): Route {
  const [, kind, raw, place] = hash.replace(/^#/, '').split('/');
  if (raw !== undefined && raw !== '') {
    const name = safeDecode(raw);
    if (kind === 'scan') return { page: 'locate', scan: name };
    if (kind === 'case') return { page: place === 'chair' ? 'chair' : 'work', caseId: name };
  }
  return { page: kind === 'stock' ? 'stock' : 'start' };
}

export function formatRoute(route: Route): string {
  if (route.page === 'locate') return `#/scan/${encodeURIComponent(route.scan)}`;
  if (route.page === 'work') return `#/case/${encodeURIComponent(route.caseId)}`;
  if (route.page === 'chair') return `#/case/${encodeURIComponent(route.caseId)}/chair`;
  return route.page === 'stock' ? '#/stock' : '#/';
}

function safeDecode(text: string): string {
  try {
    return decodeURIComponent(text);
  } catch {
    return text;
  }
}
