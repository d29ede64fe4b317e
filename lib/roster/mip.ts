/** The `highs` package (HiGHS compiled to WebAssembly, MIT) behind the core's `MipSolver`, in a thread of its own
 *  (mip-worker.mjs): the caller waits for each answer, and a heap that grew large is given back by ending the thread. A
 *  third thread (mip-guard.mjs) wakes the caller when the solver's dies. */
import {
  MessageChannel,
  type MessagePort,
  type ResourceLimits,
  receiveMessageOnPort,
  Worker,
} from 'node:worker_threads'
import type { MipAnswer, MipLimits, MipModel, MipSolver } from './core/mip-model'

/** Size of the WebAssembly heap, in bytes, beyond which it isn't used again. */
const MOST_BYTES = 200 * 2 ** 20

interface Thread {
  port: MessagePort
  flag: Int32Array
}

/** What the thread sends; a null answer: the solver failed. */
interface Sent {
  answer: {
    status: string
    objective: number
    bound: number
    columns: Float64Array | null
    rowDuals: Float64Array | null
  } | null
  spent: boolean
}

let thread: Thread | null = null

function startThread(resourceLimits: ResourceLimits): Thread {
  const { port1, port2 } = new MessageChannel()
  const flag = new Int32Array(new SharedArrayBuffer(4))
  const guard = new Worker(new URL('./mip-guard.mjs', import.meta.url), {
    workerData: { port: port2, flag, mostBytes: MOST_BYTES, resourceLimits },
    transferList: [port2],
    execArgv: [],
  })
  // A thread that fails ends; its caller sees an answer that is missing.
  guard.on('error', () => {})
  guard.unref()
  port1.unref()
  return { port: port1, flag }
}

function ask(question: object, resourceLimits: ResourceLimits): Sent['answer'] {
  thread ??= startThread(resourceLimits)
  const { port, flag } = thread
  Atomics.store(flag, 0, 0)
  port.postMessage(question)
  Atomics.wait(flag, 0, 0)
  const sent = receiveMessageOnPort(port)?.message as Sent | undefined
  if (!sent || sent.spent) {
    port.close()
    thread = null
  }
  return sent?.answer ?? null
}

/** The solver; its answers depend on the model and the limits alone. `resourceLimits` hold for a thread that it starts. */
export function loadMipSolver(resourceLimits: ResourceLimits = {}): MipSolver {
  return (model, limits) => {
    const { data, kept } = dataOf(model)
    const start = limits.start ? Float64Array.from(kept, (c) => limits.start![c]!) : undefined
    const found = ask({ data, options: optionsOf(limits), start }, resourceLimits)
    if (!found)
      return {
        status: 'failed',
        values: null,
        objective: Number.NaN,
        bound: model.sense === 'min' ? Number.NEGATIVE_INFINITY : Number.POSITIVE_INFINITY,
        rowDuals: null,
      } satisfies MipAnswer
    const status = statusOf(found.status)
    const linear = !model.whole.includes(true)
    let values: Float64Array | null = null
    if (found.columns) {
      values = new Float64Array(model.cost.length)
      for (let i = 0; i < kept.length; i++) values[kept[i]!] = found.columns[i]!
    }
    return {
      status,
      values,
      objective: found.objective,
      bound: linear ? found.objective : found.bound,
      rowDuals: linear && status === 'optimal' ? found.rowDuals : null,
    }
  }
}

const optionsOf = (limits: MipLimits) => ({
  mip_rel_gap: limits.gap ?? 0,
  mip_abs_gap: 0.999,
  mip_max_nodes: limits.nodes,
  random_seed: 0,
  ...(limits.cutoff === undefined ? {} : { objective_bound: limits.cutoff }),
})

/** A model as `highs` takes it (the sense as a word), without the columns that are fixed at 0; `kept`: the number of each
 *  column that is left. */
export function dataOf(model: MipModel) {
  const keptList: number[] = []
  const place = new Int32Array(model.cost.length).fill(-1)
  for (let c = 0; c < place.length; c++)
    if (model.lower[c] !== 0 || model.upper[c] !== 0) {
      place[c] = keptList.length
      keptList.push(c)
    }
  const kept = Int32Array.from(keptList)
  const numCols = kept.length
  const numRows = model.rows.length
  const starts = new Int32Array(numRows + 1)
  model.rows.forEach((r, i) => {
    let n = starts[i]!
    for (const c of r.columns) if (place[c]! >= 0) n++
    starts[i + 1] = n
  })
  const indices = new Int32Array(starts[numRows]!)
  const values = new Float64Array(indices.length)
  let n = 0
  for (const r of model.rows)
    for (let j = 0; j < r.columns.length; j++) {
      const c = place[r.columns[j]!]!
      if (c < 0) continue
      indices[n] = c
      values[n++] = r.factors[j]!
    }
  const data = {
    numCols,
    numRows,
    sense: model.sense,
    colCost: Float64Array.from(kept, (c) => model.cost[c]!),
    colLower: Float64Array.from(kept, (c) => model.lower[c]!),
    colUpper: Float64Array.from(kept, (c) => model.upper[c]!),
    rowLower: Float64Array.from(model.rows, (r) => r.lower),
    rowUpper: Float64Array.from(model.rows, (r) => r.upper),
    matrix: { format: 'csr' as const, numRows, numCols, starts, indices, values },
    integrality: Int32Array.from(kept, (c) => Number(model.whole[c])),
  }
  return { data, kept }
}

function statusOf(code: string): MipAnswer['status'] {
  if (code === '7' || /^optimal$/i.test(code)) return 'optimal'
  if (code === '8' || /infeasible/i.test(code)) return 'infeasible'
  return 'limit'
}
