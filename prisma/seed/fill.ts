/** `node --import tsx prisma/seed/fill.ts PLACES PEOPLE COUNTYKEY [TODAY]` adds an invented county of that size to
 *  the database that DATABASE_URL names. */
import { closeDb, db } from '@/lib/db/client'
import { civilDate, civilDateAt } from '@/lib/kernel/dates'
import { generateAnySize } from './generate'
import { DEMO_STATE } from './larkmoor'
import { writeCounty } from './write'

const [places, people, key, on] = process.argv.slice(2)

if (!Number(places) || !Number(people) || !key) {
  console.error('Usage: node --import tsx prisma/seed/fill.ts PLACES PEOPLE COUNTYKEY [TODAY]')
  process.exit(2)
}

try {
  if (await db().county.findUnique({ where: { id: key } }))
    throw new Error(`The county "${key}" is already there; nothing was changed. Choose another key.`)
  const at = new Date()
  const rows = generateAnySize({
    places: Number(places),
    people: Number(people),
    key,
    seed: key,
    today: on ? civilDate(on) : civilDateAt(at, DEMO_STATE.timeZone),
  })
  const made = Date.now()
  await db().$transaction(
    async (tx) => {
      await tx.state.upsert({ where: { id: DEMO_STATE.id }, create: DEMO_STATE, update: {} })
      await writeCounty(tx, rows, { at })
    },
    { timeout: 600_000 },
  )
  console.log(
    `${key}: ${rows.pollingPlaces.length} places, ${rows.pollWorkers.length} people, ${rows.seats.length} seats, ` +
      `${rows.facts.length} facts; made in ${made - at.getTime()} ms, written in ${Date.now() - made} ms`,
  )
} catch (error) {
  console.error(error instanceof Error ? error.message : error)
  process.exitCode = 1
} finally {
  await closeDb()
}
