/* A service worker for the training pages: a sheet that was opened on this tablet can be loaded again without a
 * connection. What is written down meanwhile is kept and sent by the page itself (app/(training)/parts/room-queue.ts).
 *
 * Personal data: a copy holds what its page shows. It is served only where the server can't be reached, for twelve hours
 * at most, and all copies go when the server says that the sign-in has ended, and whenever the page for signing in is
 * shown (app/(public)/sign-in/forget-kept.tsx). On a shared tablet the server's Clear-Site-Data removes everything. */
const CACHE = 'training-room'
const KEEP_MS = 12 * 3_600_000
/** A connection that is there but doesn't answer counts as none. */
const PATIENCE_MS = 8_000

self.addEventListener('install', () => self.skipWaiting())
self.addEventListener('activate', (event) => event.waitUntil(self.clients.claim()))

const isAsset = (url) => url.pathname.startsWith('/_next/static/')

self.addEventListener('fetch', (event) => {
  const { request } = event
  const url = new URL(request.url)
  if (request.method !== 'GET' || url.origin !== self.location.origin) return
  if (request.mode === 'navigate') event.respondWith(page(request))
  else if (isAsset(url)) event.respondWith(asset(request))
})

/** The page names itself and its files: the first time it came without this worker. Also after records were taken. */
self.addEventListener('message', (event) => {
  const keep = async () => {
    for (const address of event.data.keep) {
      const url = new URL(address, self.location.origin)
      if (isAsset(url)) await asset(new Request(url))
      else await store(address, await fetch(address, { redirect: 'manual' }))
    }
  }
  event.waitUntil(keep().catch(() => undefined))
})

async function page(request) {
  const answer = fetch(request)
  answer.catch(() => undefined)
  const late = new Promise((resolve) => setTimeout(resolve, PATIENCE_MS))
  try {
    const response = await Promise.race([answer, late.then(() => kept(request))])
    if (response?.headers.has('X-Kept')) return response
    const live = response ?? (await answer)
    await store(request.url, live.clone())
    return live
  } catch {
    return (await kept(request)) ?? noConnection()
  }
}

/** Keeps a page that was shown; forgets what the server no longer shows. */
async function store(address, response) {
  // A redirect of a page within the training pages leads to the way in: the sign-in has ended.
  if (response.type === 'opaqueredirect' || response.redirected) return caches.delete(CACHE)
  const cache = await caches.open(CACHE)
  if (response.ok) return cache.put(address, response)
  if (response.status < 500) return cache.delete(address)
}

/** The copy of a page, marked with when it was made; nothing where there is none or it is too old. */
async function kept(request) {
  const cache = await caches.open(CACHE)
  const copy = await cache.match(request.url, { ignoreVary: true })
  if (!copy) return undefined
  const at = new Date(copy.headers.get('Date') ?? 0)
  if (Date.now() - at.getTime() > KEEP_MS) {
    await cache.delete(request.url)
    return undefined
  }
  const html = (await copy.text()).replace('<html', `<html data-kept-at="${at.toISOString()}"`)
  const headers = new Headers(copy.headers)
  headers.set('X-Kept', 'yes')
  headers.delete('Content-Encoding')
  headers.delete('Content-Length')
  return new Response(html, { headers })
}

/** Files whose names change with their content. */
async function asset(request) {
  const cache = await caches.open(CACHE)
  const copy = await cache.match(request.url, { ignoreVary: true })
  if (copy) return copy
  const response = await fetch(request)
  if (response.ok) await cache.put(request.url, response.clone())
  return response
}

const noConnection = () =>
  new Response(
    `<!doctype html><html lang="en"><meta charset="utf-8"><meta name="viewport" content="width=device-width">
<title>No connection</title><body style="font: 1.25rem/1.5 sans-serif; margin: 2rem; max-width: 35rem">
<h1>No connection</h1>
<p>This page was not opened on this tablet today, so it can't be shown now.
What was written down on this tablet is kept, and is sent when the connection is back.</p>
<p>Go back to the sheet that you had, or load this page again later.</p>`,
    { status: 503, headers: { 'Content-Type': 'text/html; charset=utf-8' } },
  )
