import type { ImportKind } from '@/lib/exchange/core/fields'
import type { ImportView } from '@/lib/exchange/queries'

export const KIND_WORDS: Record<ImportKind, string> = {
  people: 'People',
  places: 'Places and precincts',
  training: 'Earlier training',
  service: 'Service history',
  nominations: 'A party’s list',
}

type Kind = 'good' | 'warn' | 'bad' | 'info'

/** How an import stands, in a few words. */
export function statusWords(view: ImportView): { words: string; kind: Kind } {
  switch (view.status) {
    case 'checked':
      return view.outcome && view.outcome.errors > 0
        ? { words: 'has errors', kind: 'bad' }
        : { words: 'ready to apply', kind: 'warn' }
    case 'applied':
      return { words: 'applied', kind: 'good' }
    case 'failed':
    case 'silent':
      return { words: 'failed', kind: 'bad' }
    case 'stopped':
      return { words: 'stopped', kind: 'warn' }
    case 'dropped':
      return { words: 'dropped', kind: 'info' }
    default:
      return { words: 'under way', kind: 'info' }
  }
}

export const sizeText = (bytes: number): string =>
  bytes < 100_000
    ? `${Math.max(1, Math.round(bytes / 1000))} kB`
    : `${(bytes / 1e6).toLocaleString('en-US', { maximumFractionDigits: 1 })} MB`
