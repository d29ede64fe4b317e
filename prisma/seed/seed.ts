import { hashPassword } from '@/lib/auth/passwords'
import { db, type Tx } from '@/lib/db/client'
import { transaction } from '@/lib/db/transaction'
import { systemClock } from '@/lib/kernel/clock'
import type { CivilDate } from '@/lib/kernel/dates'
import { readSeedQuiz } from './attempts'
import { writeDemoClasses } from './classes'
import { readSeedContent } from './content'
import { DEMO_PASSWORD, STAFF_SIGN_INS } from './demo'
import { generateDemo, LARKMOOR } from './larkmoor'
import { writeDemoPair } from './pair'
import { writeAccounts, writeCounty } from './write'

export { DEMO_CARDS, DEMO_PASSWORD, DEMO_SIGN_INS, type DemoSignIn, STAFF_SIGN_INS } from './demo'

export type SeedOutcome =
  | { status: 'present' }
  | { status: 'seeded'; counties: string[]; people: number; seats: number }

/** Taken while the seed is written: two starts at once seed one time. Any number that nothing else here takes. */
const SEED_LOCK = 72_707_371

/** Makes the demonstration in an empty database, in one transaction; leaves a database with a state in it as it is. */
export async function seedIfEmpty(options: {
  today: CivilDate
  at?: Date
  seed?: string
}): Promise<SeedOutcome> {
  const { today, seed, at = systemClock.now() } = options
  const isPresent = async (client: Tx) => (await client.state.findFirst({ select: { id: true } })) !== null
  if (await isPresent(db())) return { status: 'present' }
  // The slow part comes before the transaction, which then lasts less than a second.
  const demo = generateDemo({ today, seed, quiz: readSeedQuiz(), ...readSeedContent() })
  const passwordHashes = new Map(
    await Promise.all(
      STAFF_SIGN_INS.map(async ({ email }) => [email, await hashPassword(DEMO_PASSWORD)] as const),
    ),
  )
  return transaction(async (tx) => {
    await tx.$executeRaw`SELECT pg_advisory_xact_lock(${SEED_LOCK})`
    if (await isPresent(tx)) return { status: 'present' }
    await tx.state.create({ data: demo.state })
    await writeAccounts(tx, demo.accounts, demo.grants, passwordHashes)
    for (const county of demo.counties) await writeCounty(tx, county, { at, passwordHashes })
    await writeDemoClasses(tx, { id: LARKMOOR.key, timeZone: LARKMOOR.timeZone }, { today, at })
    await writeDemoPair(tx, demo.counties[0]!, at)
    return {
      status: 'seeded',
      counties: demo.counties.map(({ county }) => county.id),
      people: demo.counties.reduce((sum, { pollWorkers }) => sum + pollWorkers.length, 0),
      seats: demo.counties.reduce((sum, { seats }) => sum + seats.length, 0),
    }
  })
}
