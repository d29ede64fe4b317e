import { setTimeout as pause } from 'node:timers/promises'
import type { Actor } from '@/lib/auth/actor'
import { AdoptPositionsInput, adoptPositions } from '@/lib/certification/commands-positions'
import { applyCrews } from '@/lib/crews/commands'
import { getCrews } from '@/lib/crews/queries'
import { db } from '@/lib/db/client'
import { makeElection } from '@/lib/elections/commands'
import { applyImport, receiveImport } from '@/lib/exchange/commands'
import type { ImportKind } from '@/lib/exchange/core/fields'
import { fillRoster } from '@/lib/jobs/fill-roster'
import { importFile } from '@/lib/jobs/import-file'
import { makePapers } from '@/lib/jobs/make-papers'
import { addDays, civilDateAt } from '@/lib/kernel/dates'
import { requestSending, sendOffers } from '@/lib/offers/commands-send'
import { csvFile } from '@/lib/papers/csv'
import { publishRoster } from '@/lib/roster/commands'
import { cancelPapers, requestPapers } from '@/lib/roster/commands-papers'
import { cancelRosterRun, requestRosterRun } from '@/lib/roster/commands-run'
import { getElectionHead, getRuns } from '@/lib/roster/queries'
import type { CountyRows } from '@/prisma/seed/rows'

/** A clerk's first day at any size, by the commands that the pages call: from an empty county to offers and papers. Says
 *  the seconds of each step. A roster or papers that take longer than `limitSeconds` are stopped; without a roster the
 *  day ends there. `effort` is the optimiser's (its `workLimit`). */
export async function firstDay(
  clerk: Actor,
  countyId: string,
  like: CountyRows,
  { limitSeconds, effort }: { limitSeconds: number; effort: number },
): Promise<void> {
  const timed = async <T>(step: string, work: () => Promise<T>): Promise<T> => {
    const start = performance.now()
    const cpu = process.cpuUsage()
    const answer = await work()
    const { user, system } = process.cpuUsage(cpu)
    console.log(
      `${step.padEnd(48)}${((performance.now() - start) / 1000).toFixed(1).padStart(11)}${((user + system) / 1e6).toFixed(1).padStart(9)}`,
    )
    return answer
  }
  console.log(`${'from an empty county, step'.padEnd(48)}${'s'.padStart(11)}${'own CPU'.padStart(9)}`)
  const today = civilDateAt(new Date(), like.county.timeZone)
  const heldOn = addDays(today, 60)
  const csv = filesOf(like, today)

  await timed('positions and rules', () =>
    adoptPositions(
      clerk,
      AdoptPositionsInput.parse({
        countyId,
        template: POSITIONS,
        effectiveFrom: today,
        citation: 'A procedure of the bench',
        earlierMonths: '24',
        checked: 'yes',
      }),
    ),
  )
  for (const kind of ['places', 'people', 'training'] as const) {
    const { importId } = await timed(`${kind}: upload and dry run`, () =>
      check(clerk, countyId, kind, csv[kind]),
    )
    await timed(`${kind}: write`, async () => {
      await applyImport(clerk, { countyId, importId })
      await importFile(importId)
      const { status, failure } = await db().import.findUniqueOrThrow({ where: { id: importId } })
      if (status !== 'applied') throw new Error(`${kind} ended as ${status}: ${failure}`)
    })
  }
  await db().$executeRawUnsafe('ANALYZE')
  const electionId = await timed('election', () =>
    makeElection(clerk, { countyId, name: 'General', kind: 'general', heldOn, fromElectionId: null }),
  )
  const { added } = await timed('crews: look and make the seats', async () => {
    const { difference } = await getCrews(clerk, countyId, electionId, { page: 1 })
    return applyCrews(clerk, { countyId, electionId, token: difference.token })
  })
  await db().$executeRawUnsafe('ANALYZE')
  /** Runs a job, and asks it to stop when `limitSeconds` are over. */
  const within = async (work: Promise<unknown>, stop: () => Promise<unknown>): Promise<void> => {
    const over = new AbortController()
    const limit = pause(limitSeconds * 1000, null, { signal: over.signal }).then(stop, () => undefined)
    await work
    over.abort()
    await limit
  }
  const solved = await timed(`fill ${added} seats with effort ${effort}`, async () => {
    const { runId } = await requestRosterRun(clerk, { electionId })
    await within(fillRoster(runId, { workLimit: effort }), () => cancelRosterRun(clerk, { electionId }))
    return (await getRuns(electionId)).newest
  })
  if (solved?.status !== 'done' || !solved.outcome)
    return console.log(
      `the run ended as ${solved?.status} ${solved?.failure ?? ''} at stage ${solved?.stage}\n`,
    )
  console.log(`${solved.outcome.filled} of ${solved.outcome.seats} seats filled`)
  await timed('publish', async () => {
    const { mark } = await getElectionHead(clerk, countyId, electionId)
    await publishRoster(clerk, { electionId, expected: mark })
  })
  await timed('offers to everybody', async () => {
    const { sendingId } = await requestSending(clerk, { electionId, answerBy: addDays(heldOn, -20) })
    await sendOffers(sendingId)
  })
  const papers = await timed('papers of the whole county', async () => {
    const { orderId } = await requestPapers(clerk, { electionId })
    await within(makePapers(orderId), () => cancelPapers(clerk, { electionId }))
    return db().paperOrder.findUniqueOrThrow({ where: { id: orderId } })
  })
  console.log(`papers: ${papers.status}, ${papers.stage}, ${Math.round(papers.progress * 100)} %`)
  console.log()
}

/** As far as people are ready to travel; without it every certified person may sit anywhere in the county. */
const MOST_MILES = 30
const POSITIONS = ['lead', 'deputy', 'check-in', 'ballot-station']

async function check(clerk: Actor, countyId: string, kind: ImportKind, text: string) {
  async function* pieces() {
    const bytes = Buffer.from(text)
    for (let i = 0; i < bytes.length; i += 65_536) yield bytes.subarray(i, i + 65_536)
  }
  const { importId } = await receiveImport(clerk, { countyId, kind }, `${kind}.csv`, pieces())
  await importFile(importId)
  const { status, outcome } = await db().import.findUniqueOrThrow({ where: { id: importId } })
  if (status !== 'checked' || (outcome as { errors?: number } | null)?.errors !== 0)
    throw new Error(`${kind} ended as ${status}: ${JSON.stringify(outcome).slice(0, 400)}`)
  return { importId }
}

/** The county as its own spreadsheets would tell it. Everybody is trained for check-in, every second person for another
 *  position too. */
function filesOf(like: CountyRows, today: string): Record<'places' | 'people' | 'training', string> {
  const lines = ([header, ...rows]: (string | number | null)[][]) => csvFile(header as string[], rows)
  const codeOf = new Map(like.pollingPlaces.map((p) => [p.id, p.code]))
  const placeOf = new Map(like.pollingPlaces.map((p) => [p.id, p]))
  const trainedOn = addDays(today as Parameters<typeof addDays>[0], -60)
  return {
    places: lines([
      ['Code', 'Name', 'Address', 'Latitude', 'Longitude', 'Precinct', 'Registered voters'],
      ...like.precincts.flatMap((precinct) => {
        const place = placeOf.get(precinct.pollingPlaceId ?? '')
        return place
          ? [
              [
                codeOf.get(place.id)!,
                place.name,
                place.address,
                place.lat,
                place.lon,
                precinct.code,
                precinct.registeredVoters,
              ],
            ]
          : []
      }),
    ]),
    people: lines([
      [
        'County number',
        'First name',
        'Last name',
        'Birth year',
        'E-mail',
        'Address',
        'Latitude',
        'Longitude',
        'Most miles to travel',
      ],
      ...like.pollWorkers.map((w) => [
        w.countyRef,
        w.givenName,
        w.familyName,
        w.birthYear ?? null,
        w.email ?? null,
        w.homeAddress ?? null,
        w.homeLat ?? null,
        w.homeLon ?? null,
        MOST_MILES,
      ]),
    ]),
    training: lines([
      ['County number', 'Position', 'Training date', 'Trainer'],
      ...like.pollWorkers.flatMap((w, i) => [
        [w.countyRef, 'check-in', trainedOn, 'The office'],
        ...(i % 2 === 0 ? [[w.countyRef, POSITIONS[[0, 1, 3][(i / 2) % 3]!]!, trainedOn, 'The office']] : []),
      ]),
    ]),
  }
}
