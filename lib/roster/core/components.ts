/** Strongly connected components of a directed graph, found from the nodes that are asked for and kept: each node and arc
 *  is looked at once, whatever is asked. Reference: Tarjan 1972, SIAM J. Comput. 1:146-160. */
export class Components<T extends object> {
  private readonly found: (T | undefined)[]
  /** Order in which nodes were met, and the earliest one that each leads back to; 0: not met yet. */
  private readonly met: Int32Array
  private readonly back: Int32Array
  private count = 0

  /** `close`: what is kept of a component, from its nodes and what is kept of those that it leads to. */
  constructor(
    nodes: number,
    /** Asked twice for each node; may name one more than once. An iterator keeps nothing in memory. */
    private readonly nextOf: (node: number) => Iterable<number>,
    private readonly close: (nodes: readonly number[], next: readonly T[]) => T,
  ) {
    this.found = new Array(nodes)
    this.met = new Int32Array(nodes)
    this.back = new Int32Array(nodes)
  }

  of(start: number): T {
    if (this.found[start]) return this.found[start]
    const { met, back } = this
    const path: { node: number; next: Iterator<number> }[] = []
    const open: number[] = []
    const enter = (node: number) => {
      met[node] = back[node] = ++this.count
      path.push({ node, next: this.nextOf(node)[Symbol.iterator]() })
      open.push(node)
    }
    enter(start)
    for (let step = path.at(-1); step; step = path.at(-1)) {
      const { node } = step
      const { value: next, done } = step.next.next()
      if (!done) {
        if (met[next] === 0) enter(next)
        else if (!this.found[next]) back[node] = Math.min(back[node]!, met[next]!)
        continue
      }
      path.pop()
      const before = path.at(-1)?.node
      if (before !== undefined) back[before] = Math.min(back[before]!, back[node]!)
      if (back[node] === met[node]) this.keep(open.splice(open.lastIndexOf(node)))
    }
    return this.found[start]!
  }

  private keep(nodes: readonly number[]): void {
    const next = new Set<T>()
    for (const node of nodes)
      for (const other of this.nextOf(node)) if (this.found[other]) next.add(this.found[other])
    const kept = this.close(nodes, [...next])
    for (const node of nodes) this.found[node] = kept
  }
}

/** Everything that something leads to, itself first. */
export function allFrom<T extends { next: readonly T[] }>(start: T): Set<T> {
  const all = new Set([start])
  for (const part of all) for (const next of part.next) all.add(next)
  return all
}
