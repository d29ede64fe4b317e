/** A seeded source of numbers: the same seed gives the same sequence on every machine. Not for secrets. */
export interface Random {
  /** Uniform in [0, 1), 32 bits of resolution. */
  next(): number
  /** Uniform whole number in [0, bound); `bound` ≥ 1. */
  below(bound: number): number
  /** One element of a non-empty array. */
  pick<T>(items: readonly T[]): T
  /** A shuffled copy (Fisher–Yates). */
  shuffle<T>(items: readonly T[]): T[]
}

/** 32-bit FNV-1a of a text, to turn a name into a seed. Published test vector: '' → 0x811c9dc5. */
export function seedOf(text: string): number {
  let hash = 0x811c9dc5
  for (const byte of new TextEncoder().encode(text)) {
    hash ^= byte
    hash = Math.imul(hash, 0x01000193)
  }
  return hash >>> 0
}

/** The mulberry32 generator (public domain, T. Ettinger): one 32-bit word of state, period 2^32. */
export function seededRandom(seed: number): Random {
  let state = seed >>> 0
  const next = () => {
    state = (state + 0x6d2b79f5) >>> 0
    let t = Math.imul(state ^ (state >>> 15), 1 | state)
    t = (t + Math.imul(t ^ (t >>> 7), 61 | t)) ^ t
    return ((t ^ (t >>> 14)) >>> 0) / 4294967296
  }
  const below = (bound: number) => Math.floor(next() * bound)
  return {
    next,
    below,
    pick: (items) => {
      if (items.length === 0) throw new RangeError('pick needs at least one item')
      return items[below(items.length)]!
    },
    shuffle: (items) => {
      const copy = [...items]
      for (let i = copy.length - 1; i > 0; i--) {
        const j = below(i + 1)
        const kept = copy[i]!
        copy[i] = copy[j]!
        copy[j] = kept
      }
      return copy
    },
  }
}
