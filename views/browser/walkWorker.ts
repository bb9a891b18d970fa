/**
 * Keeps the walk's page on the phone. The server puts the version and the files before this script; a new version is
 * fetched whole before the old one goes.
 */
export {};

declare const self: ServiceWorkerGlobalScope & {
  readonly walkShell: { readonly version: string; readonly files: readonly string[] };
};

const PREFIX = 'lagstep-walk-';
const { version, files } = self.walkShell;
const cacheName = PREFIX + version;
const PAGE = '/walk/';

self.addEventListener('install', (event) => {
  event.waitUntil(
    (async () => {
      const cache = await caches.open(cacheName);
      await cache.addAll(files.map((file) => new Request(file, { cache: 'reload' })));
      await self.skipWaiting();
    })(),
  );
});

self.addEventListener('activate', (event) => {
  event.waitUntil(
    (async () => {
      const old = (await caches.keys()).filter((name) => name.startsWith(PREFIX) && name !== cacheName);
      await Promise.all(old.map((name) => caches.delete(name)));
      await self.clients.claim();
    })(),
  );
});

/** Under which address a request's answer is kept: one page serves every walk; marks and plans are never answered from here. */
function keptAs(request: Request): string | undefined {
  const url = new URL(request.url);
  if (request.method !== 'GET' || url.origin !== self.location.origin) return undefined;
  if (request.mode === 'navigate') return url.pathname.startsWith(PAGE) ? PAGE : undefined;
  return files.includes(url.pathname) ? url.pathname : undefined;
}

self.addEventListener('fetch', (event) => {
  const address = keptAs(event.request);
  if (address === undefined) return;
  event.respondWith(
    (async () => {
      const cache = await caches.open(cacheName);
      return (await cache.match(address)) ?? fetch(event.request);
    })(),
  );
});
