/** The service worker of the training pages, run as it is in a browser that is ours: a cache in memory, a network that
 *  can be cut. What a real browser makes of it: tests/e2e/certificate.test.ts. */
import { readFileSync } from 'node:fs'
import vm from 'node:vm'
import { describe, expect, it } from 'vitest'

const SOURCE = readFileSync('public/training-room.js', 'utf8')
const ORIGIN = 'https://larkmoor.example'
const SHEET = '/training/larkmoor/classes/1'

interface Handled {
  request: { url: string; method: string; mode: string }
  respondWith(answer: Promise<Response>): void
}

function makeBrowser() {
  const stores = new Map<string, Map<string, Response>>()
  const key = (address: string | { url: string }) =>
    new URL(typeof address === 'string' ? address : address.url, ORIGIN).href
  const caches = {
    open: async (name: string) => {
      const store = stores.get(name) ?? new Map<string, Response>()
      stores.set(name, store)
      return {
        match: async (address: string) => store.get(key(address))?.clone(),
        put: async (address: string, response: Response) => void store.set(key(address), response),
        delete: async (address: string) => store.delete(key(address)),
      }
    },
    delete: async (name: string) => stores.delete(name),
  }
  let network: (address: string) => Promise<Response> = async () => page('live')
  const handlers = new Map<string, (event: Handled) => void>()
  vm.runInNewContext(SOURCE, {
    self: {
      location: { origin: ORIGIN },
      addEventListener: (name: string, handler: (event: Handled) => void) => handlers.set(name, handler),
    },
    caches,
    fetch: (request: { url: string } | string) => network(key(request)),
    setTimeout: (work: () => void, ms: number) => setTimeout(work, ms).unref(),
    Response,
    Request,
    Headers,
    URL,
    Date,
    Promise,
  })
  return {
    kept: () => [...stores.values()].flatMap((store) => [...store.keys()]),
    setNetwork: (answer: typeof network) => {
      network = answer
    },
    /** What the worker answers; null: it leaves the request to the browser. */
    ask: async (path: string, more: { method?: string; mode?: string } = {}): Promise<Response | null> => {
      let answer: Promise<Response> | null = null
      handlers.get('fetch')!({
        request: { url: new URL(path, ORIGIN).href, method: 'GET', mode: 'navigate', ...more },
        respondWith: (given) => {
          answer = given
        },
      })
      return answer
    },
  }
}

const page = (text: string, { at = new Date(), status = 200 } = {}) =>
  new Response(`<html lang="en">${text}`, { status, headers: { Date: at.toUTCString() } })
const cut = async () => {
  throw new TypeError('no network')
}
const hoursAgo = (hours: number) => new Date(Date.now() - hours * 3_600_000)

describe('a training page without a connection', () => {
  it('is shown as it was, and says when that was', async () => {
    const browser = makeBrowser()
    const at = hoursAgo(3)
    browser.setNetwork(async () => page('the sheet', { at }))
    expect(await (await browser.ask(SHEET))!.text()).toBe('<html lang="en">the sheet')
    browser.setNetwork(cut)
    at.setMilliseconds(0)
    expect(await (await browser.ask(SHEET))!.text()).toBe(
      `<html data-kept-at="${at.toISOString()}" lang="en">the sheet`,
    )
  })

  it('says so in words where it was never opened, or longer ago than twelve hours', async () => {
    const browser = makeBrowser()
    browser.setNetwork(async () => page('the sheet', { at: hoursAgo(12.1) }))
    await browser.ask(SHEET)
    browser.setNetwork(cut)
    for (const path of [SHEET, '/training/larkmoor']) {
      const answer = (await browser.ask(path))!
      expect([answer.status, (await answer.text()).includes('No connection')]).toEqual([503, true])
    }
    expect(browser.kept()).toEqual([])
  })

  it('is forgotten with all others when the sign-in has ended, alone when it is gone or not for this account', async () => {
    for (const status of [403, 404]) {
      const browser = makeBrowser()
      await browser.ask(SHEET)
      await browser.ask('/training/larkmoor')
      browser.setNetwork(async () => page('', { status }))
      await browser.ask(SHEET)
      expect(browser.kept()).toEqual([`${ORIGIN}/training/larkmoor`])
      // A server in trouble says nothing about the page.
      browser.setNetwork(async () => page('', { status: 502 }))
      await browser.ask('/training/larkmoor')
      expect(browser.kept()).toHaveLength(1)
      // As a browser shows a redirect to its service worker.
      browser.setNetwork(async () => {
        const redirect = page('')
        Object.defineProperty(redirect, 'type', { value: 'opaqueredirect' })
        Object.defineProperty(redirect, 'clone', { value: () => redirect })
        return redirect
      })
      await browser.ask(SHEET)
      expect(browser.kept()).toEqual([])
    }
  })

  it('has nothing to do with forms, other servers and what pages fetch', async () => {
    const browser = makeBrowser()
    expect(await browser.ask(SHEET, { method: 'POST' })).toBeNull()
    expect(await browser.ask('https://other.example/training/x')).toBeNull()
    expect(await browser.ask('/api/training/records', { mode: 'cors' })).toBeNull()
    expect(browser.kept()).toEqual([])
  })
})
