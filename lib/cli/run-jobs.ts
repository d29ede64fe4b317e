/** The job runner: a process of its own, so that heavy work never holds up a page. Any number may run at once. */
import { Logger, run } from 'graphile-worker'
import { env } from '@/lib/env'
import { tasks } from '@/lib/jobs/tasks'
import { CRONTAB } from '@/lib/jobs/timed'
import { log } from '@/lib/web/log'

const runner = await run({
  connectionString: env().DATABASE_URL as string,
  concurrency: 2,
  noHandleSignals: true,
  pollInterval: 1000,
  taskList: tasks,
  crontab: CRONTAB,
  logger: new Logger(() => (level, message) => {
    if (level === 'error') log.error(message)
  }),
})

for (const signal of ['SIGTERM', 'SIGINT'] as const)
  process.on(signal, () => void runner.stop().finally(() => process.exit(0)))

await runner.promise
