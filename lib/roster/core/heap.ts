/** A binary min-heap of (key, column) pairs on typed arrays, lazily pruned by its user. Ties by column, so that the
 *  order of work, and with it every result, is the same on each machine. */
export class MinHeap {
  private keys = new Float64Array(1024)
  private items = new Int32Array(1024)
  size = 0

  clear(): void {
    this.size = 0
  }

  get topKey(): number {
    return this.keys[0]!
  }

  push(key: number, item: number): void {
    if (this.size === this.keys.length) {
      const keys = new Float64Array(this.size * 2)
      keys.set(this.keys)
      this.keys = keys
      const items = new Int32Array(this.size * 2)
      items.set(this.items)
      this.items = items
    }
    const { keys, items } = this
    let i = this.size++
    while (i > 0) {
      const parent = (i - 1) >> 1
      const pk = keys[parent]!
      if (pk < key || (pk === key && items[parent]! <= item)) break
      keys[i] = pk
      items[i] = items[parent]!
      i = parent
    }
    keys[i] = key
    items[i] = item
  }

  /** Removes the least item and returns it; read `topKey` before. */
  pop(): number {
    const { keys, items } = this
    const top = items[0]!
    const n = --this.size
    if (n > 0) {
      const key = keys[n]!
      const item = items[n]!
      let i = 0
      for (;;) {
        let child = 2 * i + 1
        if (child >= n) break
        const right = child + 1
        if (
          right < n &&
          (keys[right]! < keys[child]! || (keys[right]! === keys[child]! && items[right]! < items[child]!))
        )
          child = right
        const ck = keys[child]!
        if (ck > key || (ck === key && items[child]! >= item)) break
        keys[i] = ck
        items[i] = items[child]!
        i = child
      }
      keys[i] = key
      items[i] = item
    }
    return top
  }
}
