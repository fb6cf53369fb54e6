/**
 * Keeps the page itself (not a byte of any patient) in the browser, so that a reload while the program is away still shows
 * the chairside view. What belongs to a case is kept by api/shelf.ts, one case at a time.
 */

/** The part of a service worker's scope used here; its types do not live beside those of a page. */
interface Scope {
  addEventListener(type: 'install' | 'activate', listen: (event: { waitUntil(what: Promise<unknown>): void }) => void): void;
  addEventListener(type: 'fetch', listen: (event: { request: Request; respondWith(what: Promise<Response>): void }) => void): void;
  skipWaiting(): Promise<void>;
  clients: { claim(): Promise<void> };
  registration: { scope: string };
}
const scope = globalThis as unknown as Scope;

/** The files of the page; filled in by the build (vite.config.ts). */
const FILES: readonly string[] = JSON.parse('__FILES__') as string[];
/** File names carry a hash of their content, so the list names the version. */
const CACHE = `anfract-page ${FILES.join(' ')}`;
/** A program that hangs is as good as away. */
const PATIENCE_MS = 4000;

scope.addEventListener('install', (event) => {
  event.waitUntil(caches.open(CACHE).then((cache) => cache.addAll(FILES)).then(() => scope.skipWaiting()));
});

scope.addEventListener('activate', (event) => {
  const others = caches.keys().then((names) => Promise.all(names.filter((n) => n !== CACHE).map((n) => caches.delete(n))));
  event.waitUntil(others.then(() => scope.clients.claim()));
});

scope.addEventListener('fetch', (event) => {
  const { request } = event;
  const path = request.url.slice(scope.registration.scope.length);
  if (request.method !== 'GET' || !request.url.startsWith(scope.registration.scope) || path.startsWith('api/')) return;
  event.respondWith(request.mode === 'navigate' ? freshIndex(request) : kept(request));
});

/** The page as the program has it now; the kept one when it does not answer. */
async function freshIndex(request: Request): Promise<Response> {
  try {
    return await fetch(request, { signal: AbortSignal.timeout(PATIENCE_MS) });
  } catch {
    return (await caches.match('./', { cacheName: CACHE })) ?? Response.error();
  }
}

async function kept(request: Request): Promise<Response> {
  return (await caches.match(request, { cacheName: CACHE })) ?? fetch(request);
}
