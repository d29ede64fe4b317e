/** What a thread loads first. `--import tsx` in a thread's own arguments has no effect on Node 20 (its hooks are for the
 *  main thread only), so TypeScript is registered here, then the entry named by `workerData.entry` begins. */
import { workerData } from 'node:worker_threads'
import { register } from 'tsx/esm/api'

register()
await import(workerData.entry)
