/** A training page that was opened on a tablet can be loaded again without a connection (public/training-room.js). */

const SCOPE = '/training/'

/** Asks the service worker to keep this page as it is on the server now, with its files. Does nothing where the browser
 *  has none: without HTTPS, and in development, where files change under one name. */
export async function keepThisPage(): Promise<void> {
  if (process.env.NODE_ENV !== 'production' || !navigator.serviceWorker) return
  if (!location.pathname.startsWith(SCOPE)) return
  await navigator.serviceWorker.register('/training-room.js', { scope: SCOPE })
  const { active } = await navigator.serviceWorker.ready
  const files = performance
    .getEntriesByType('resource')
    .map((entry) => entry.name)
    .filter((name) => new URL(name).pathname.startsWith('/_next/static/'))
  active?.postMessage({ keep: [location.pathname + location.search, ...new Set(files)] })
}

/** When the copy that is shown was made; null: the page comes from the server. */
export const keptAt = (): Date | null => {
  const at = document.documentElement.dataset.keptAt
  return at ? new Date(at) : null
}

/** Whether this page survives being loaded again without a connection. */
export const isKept = (): boolean => Boolean(navigator.serviceWorker?.controller)
