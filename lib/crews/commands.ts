import { z } from 'zod'
import { appendAudit } from '@/lib/audit/append'
import type { Actor } from '@/lib/auth/actor'
import { assertCan } from '@/lib/auth/permissions'
import { insertRows } from '@/lib/db/bulk'
import { transaction } from '@/lib/db/transaction'
import { systemClock } from '@/lib/kernel/clock'
import { CivilDateInput } from '@/lib/kernel/date-schema'
import { AppError } from '@/lib/kernel/errors'
import { COUNT_FORMS, readCount } from './core/rule-text'
import { loadCrewPlan, loadCrewRules } from './facts'
import { DemandProfile, Phase, PlaceKind, RuleCondition, RuleTable } from './schema'

const County = { countyId: z.string().min(1).max(100) }
const Cells = z.array(z.string().trim().max(1000)).max(200)

export const CrewRulesInput = z.object({
  ...County,
  /** The version that the form was filled from. */
  fromVersion: z.coerce.number().int().min(0),
  citation: z.string().trim().min(1, 'Enter the law or procedure that these rules follow.').max(1000),
  sameParty: z.enum(['', 'atMostHalf', 'atMostHalfRoundedUp']),
  position: Cells,
  per: Cells,
  count: Cells,
  phase: Cells,
  kind: Cells,
  over: Cells,
  upTo: Cells,
  shifts: Cells,
  legal: Cells,
  ruleCitation: Cells,
  /** Conditions that the form has no field for, as it got them. */
  rest: Cells,
  turnoutPercent: z.coerce.number().min(0).max(100),
  waitingPercent: z.coerce.number().min(0).max(100),
  opensAtHour: z.coerce.number().int().min(0).max(23),
  checkInMinutes: z.coerce.number().positive().max(600),
  votingMinutes: z.coerce.number().positive().max(600),
  hourPercents: z.string().max(500),
  demandSource: z.string().trim().min(1, 'Say where these counts come from.').max(500),
})
type Rules = z.output<typeof CrewRulesInput>

const refuse = (message: string): never => {
  throw new AppError('INVALID_INPUT', { userMessage: `${message} Nothing was published.` })
}

const voters = (text: string, n: number): number | undefined => {
  if (text === '') return undefined
  const plain = text.replaceAll(',', '')
  if (!/^\d{1,8}$/.test(plain)) return refuse(`Rule ${n}: “${text}” is no number of voters.`)
  return Number(plain)
}

function restIn(text: string, n: number): RuleCondition {
  try {
    const rest = RuleCondition.safeParse(text === '' ? {} : JSON.parse(text))
    if (rest.success) return rest.data
  } catch {
    // Told below.
  }
  return refuse(`Rule ${n}: its other conditions can’t be read. Load the page again.`)
}

/** The table of a form: a line without a position is left out. @throws AppError INVALID_INPUT naming the line. */
function tableIn(input: Rules, known: ReadonlySet<string>, before: RuleTable): RuleTable {
  const rules = input.position.flatMap((position, i) => {
    if (position === '') return []
    const n = i + 1
    if (!known.has(position)) return refuse(`Rule ${n}: the county has no position “${position}”.`)
    const count = readCount(input.count[i] ?? '')
    if (!count) return refuse(`Rule ${n}: write the seats like ${COUNT_FORMS}.`)
    const phase = Phase.safeParse(input.phase[i])
    const kind = PlaceKind.safeParse(input.kind[i])
    const [over, upTo] = [voters(input.over[i] ?? '', n), voters(input.upTo[i] ?? '', n)]
    return [
      {
        position,
        per: input.per[i] === 'precinct' ? 'precinct' : 'place',
        when: {
          ...restIn(input.rest[i] ?? '', n),
          ...(phase.success ? { phases: [phase.data] } : {}),
          ...(kind.success ? { placeKinds: [kind.data] } : {}),
          ...(over === undefined ? {} : { over }),
          ...(upTo === undefined ? {} : { upTo }),
        },
        count,
        shifts: input.shifts[i] === 'halves' ? ['morning', 'afternoon'] : ['full'],
        legalMinimum: input.legal[i] === 'yes',
        ...(input.ruleCitation[i] ? { citation: input.ruleCitation[i] } : {}),
      },
    ]
  })
  if (rules.length === 0) refuse('Write at least one rule.')
  const table = RuleTable.safeParse({
    key: input.countyId,
    citation: input.citation,
    rules,
    ...(before.oddTotal ? { oddTotal: before.oddTotal } : {}),
    ...(input.sameParty ? { sameParty: input.sameParty } : {}),
  })
  return table.success ? table.data : refuse(table.error.issues[0]!.message)
}

function demandIn(input: Rules): DemandProfile {
  const percents = input.hourPercents
    .split(/[\s,;]+/)
    .filter(Boolean)
    .map(Number)
  const sum = percents.reduce((a, b) => a + b, 0)
  if (percents.length === 0 || percents.some((p) => !(p >= 0)) || Math.abs(sum - 100) > 0.01)
    refuse(
      `The shares of the hours must be percentages that sum to 100; they sum to ${Number(sum.toFixed(2))}.`,
    )
  const demand = DemandProfile.safeParse({
    turnoutFraction: input.turnoutPercent / 100,
    waitingAtOpeningFraction: input.waitingPercent / 100,
    shareByHour: percents.map((p) => p / sum),
    opensAtHour: input.opensAtHour,
    checkInMinutes: input.checkInMinutes,
    votingMinutes: input.votingMinutes,
    source: input.demandSource,
  })
  return demand.success ? demand.data : refuse(demand.error.issues[0]!.message)
}

/** Publishes a county's rules as its next version, with its own citation; earlier versions stay. No seat changes: that
 *  is `applyCrews`. Returns the version. @throws AppError NOT_FOUND, FORBIDDEN, INVALID_INPUT, CONFLICT */
export async function publishCrewRules(actor: Actor, input: Rules): Promise<number> {
  assertCan(actor, 'publishRules', input.countyId)
  const { countyId } = input
  const at = systemClock.now()
  return transaction(async (tx) => {
    const before = await loadCrewRules(tx, countyId)
    if (before.version !== input.fromVersion)
      throw new AppError('CONFLICT', {
        userMessage:
          'Somebody published rules since you opened this page; nothing of yours was saved. Load it again.',
      })
    const positions = await tx.position.findMany({ where: { countyId }, select: { key: true } })
    const ruleTable = tableIn(input, new Set(positions.map((p) => p.key)), before.ruleTable)
    const version = before.version + 1
    await tx.crewRules.create({
      data: {
        ...{ countyId, version, ruleTable, demand: demandIn(input) },
        citation: input.citation,
        publishedBy: actor.accountId,
        publishedAt: at,
      },
    })
    await appendAudit(
      tx,
      { chain: countyId, actorAccountId: actor.accountId, at },
      { event: 'crew-rules.published', subject: `county:${countyId}`, detail: { version } },
    )
    return version
  })
}

export const HandChangeInput = z.object({
  ...County,
  electionId: z.uuid(),
  placeId: z.uuid(),
  positionKey: z.string().min(1).max(100),
  servesOn: CivilDateInput,
  shift: z.enum(['full', 'morning', 'afternoon']),
  change: z.coerce
    .number('Give a whole number like 1 or -1.')
    .int('Give a whole number like 1 or -1.')
    .min(-20, 'At most 20 fewer.')
    .max(20, 'At most 20 more.'),
  reason: z.string().trim().max(500),
})

/** Adds or takes seats beyond the rules, with the reason; 0 takes the change back. No seat changes yet.
 *  @throws AppError NOT_FOUND, FORBIDDEN, INVALID_INPUT */
export async function changeCrewByHand(actor: Actor, input: z.output<typeof HandChangeInput>): Promise<void> {
  assertCan(actor, 'changePlaces', input.countyId)
  const { countyId, electionId, placeId: pollingPlaceId, positionKey, servesOn, shift, change } = input
  if (change !== 0 && input.reason === '')
    throw new AppError('INVALID_INPUT', {
      userMessage: 'Say why, so that the next clerk knows. Nothing was saved.',
      fields: { reason: 'Say why.' },
    })
  const at = systemClock.now()
  await transaction(async (tx) => {
    const election = await tx.election.findUnique({ where: { id: electionId, countyId } })
    const place = await tx.pollingPlace.findUnique({ where: { id: pollingPlaceId, countyId } })
    const position = await tx.position.findUnique({
      where: { countyId_key: { countyId, key: positionKey } },
    })
    if (!election || !place || !position)
      throw new AppError('NOT_FOUND', {
        userMessage: 'There is no such election, place or position in this county.',
      })
    const key = { electionId, pollingPlaceId, positionKey, servesOn, shift }
    if (change === 0) await tx.crewChange.deleteMany({ where: key })
    else {
      const written = { change, reason: input.reason, changedBy: actor.accountId, changedAt: at }
      await tx.crewChange.upsert({
        where: { electionId_pollingPlaceId_positionKey_servesOn_shift: key },
        create: { countyId, ...key, ...written },
        update: written,
      })
    }
    await appendAudit(
      tx,
      { chain: countyId, actorAccountId: actor.accountId, at },
      {
        event: 'crew.changed-by-hand',
        subject: `election:${electionId}`,
        detail: { pollingPlaceId, positionKey, servesOn, shift, change },
      },
    )
  })
}

export const ApplyCrewsInput = z.object({ ...County, electionId: z.uuid(), token: z.string().max(64) })

/** Makes the seats of an election what the rules and the hand changes say, as the preview showed it. People in a draft
 *  whose seat goes lose it; seats that a published roster or an offer names stay.
 *  @throws AppError NOT_FOUND, FORBIDDEN, CONFLICT */
export async function applyCrews(
  actor: Actor,
  input: z.output<typeof ApplyCrewsInput>,
): Promise<{ added: number; removed: number }> {
  assertCan(actor, 'changePlaces', input.countyId)
  const { countyId, electionId } = input
  return transaction(async (tx) => {
    await tx.$executeRaw`SELECT 1 FROM "Election" WHERE id = ${electionId}::uuid FOR NO KEY UPDATE`
    const { difference, positions, rules, token } = await loadCrewPlan(tx, countyId, electionId)
    if (token !== input.token)
      throw new AppError('CONFLICT', {
        userMessage:
          'Rules or seats have changed since you looked; nothing was changed. Look again, then confirm.',
      })
    const positionId = new Map(positions.map((p) => [p.key, p.id]))
    const gone = difference.remove.map((seat) => seat.id)
    if (difference.remove.some((seat) => seat.taken)) {
      await tx.$executeRaw`DELETE FROM "Seating" WHERE "seatId" = ANY(${gone}::uuid[])`
      await tx.roster.updateMany({
        where: { electionId, publishedAt: null },
        data: { revision: { increment: 1 } },
      })
    }
    await tx.$executeRaw`DELETE FROM "Seat" WHERE id = ANY(${gone}::uuid[])`
    await insertRows(
      tx,
      'Seat',
      difference.add.map((seat) => ({
        id: crypto.randomUUID(),
        countyId,
        electionId,
        pollingPlaceId: seat.placeId,
        positionId: positionId.get(seat.position)!,
        servesOn: seat.on,
        shift: seat.shift,
        number: seat.number,
        legalMinimum: seat.legalMinimum,
      })),
    )
    for (const legalMinimum of [true, false]) {
      const ids = difference.mark.filter((m) => m.legalMinimum === legalMinimum).map((m) => m.id)
      await tx.$executeRaw`UPDATE "Seat" SET "legalMinimum" = ${legalMinimum} WHERE id = ANY(${ids}::uuid[])`
    }
    const counts = { added: difference.add.length, removed: gone.length }
    await appendAudit(
      tx,
      { chain: countyId, actorAccountId: actor.accountId, at: systemClock.now() },
      {
        event: 'crews.applied',
        subject: `election:${electionId}`,
        detail: { rulesVersion: rules.version, ...counts },
      },
    )
    return counts
  })
}
