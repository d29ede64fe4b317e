import { sha256Hex } from '@/lib/kernel/hash'

const KINDS = [
  'pollWorker',
  'pollingPlace',
  'precinct',
  'position',
  'election',
  'seat',
  'fact',
  'ruleSet',
  'account',
  'grant',
  'card',
  'attempt',
  'opening',
] as const
export type IdKind = (typeof KINDS)[number]

/** Gives out ids in the shape of RFC 9562's version 8 (custom): 60 bits of the SHA-256 of `origin`, then the kind,
 *  then a counter. The same origin gives the same ids in the same order; two ids of one origin never meet. */
export function idsOf(origin: string): (kind: IdKind) => string {
  const hash = sha256Hex(origin)
  const counters = new Map<IdKind, number>()
  return (kind) => {
    const count = (counters.get(kind) ?? 0) + 1
    counters.set(kind, count)
    const kindDigits = KINDS.indexOf(kind).toString(16).padStart(3, '0')
    const counter = count.toString(16).padStart(12, '0')
    return `${hash.slice(0, 8)}-${hash.slice(8, 12)}-8${kindDigits}-8${hash.slice(12, 15)}-${counter}`
  }
}
