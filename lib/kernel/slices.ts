/** Long pure work in slices: a generator that yields now and then and returns its result, so that whoever runs it can
 *  let others have their turn, or give up, in between. */
export type Slices<T> = Generator<void, T, void>

/** All of it at once: in a thread of its own, in a command. */
export function atOnce<T>(work: Slices<T>): T {
  for (;;) {
    const step = work.next()
    if (step.done) return step.value
  }
}

/** Slice after slice, with `pause` in between; what that throws ends the work. */
export async function inSlices<T>(work: Slices<T>, pause: () => Promise<void>): Promise<T> {
  for (;;) {
    const step = work.next()
    if (step.done) return step.value
    await pause()
  }
}
