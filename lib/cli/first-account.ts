/** `npm run first-account -- --state "State of Arden" --abbreviation AD --zone America/Chicago --name "Ingrid Thornhurst"
 *  --email ingrid@state.example`: the state office of an empty installation (`DEMO=no`) and its first administrator. */
import { parseArgs } from 'node:util'
import { AppError } from '@/lib/kernel/errors'
import { deploy } from '@/prisma/migrate'
import { ensureDatabaseClient } from './prepare'
import { withDatabase } from './with-database'

ensureDatabaseClient()
const { FirstAccountInput, foundStateOffice } = await import('@/lib/auth/accounts')
const { closeDb } = await import('@/lib/db/client')

const NAMES = ['state', 'abbreviation', 'zone', 'name', 'email'] as const
const { values } = parseArgs({
  options: Object.fromEntries(NAMES.map((name) => [name, { type: 'string' as const }])),
  strict: false,
})
const asked = FirstAccountInput.safeParse({ ...values, timeZone: values.zone })
if (!asked.success) {
  console.error(
    `Give all of ${NAMES.map((name) => `--${name}`).join(', ')}; the zone like America/Chicago. Not right: ${[...new Set(asked.error.issues.map((issue) => (issue.path[0] === 'timeZone' ? 'zone' : issue.path[0])))].join(', ')}.`,
  )
  process.exit(2)
}
await withDatabase(async (url) => {
  // It may well come before the first start.
  await deploy(url)
  try {
    const { firstPassword } = await foundStateOffice(asked.data)
    console.log(
      `The state office is founded. ${asked.data.email} signs in with this password, shown this once:\n\n  ${firstPassword}\n`,
    )
  } catch (error) {
    if (!(error instanceof AppError)) throw error
    console.error(error.userMessage)
    process.exitCode = 1
  }
  await closeDb()
})
