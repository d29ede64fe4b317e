import { z } from 'zod'
import { appendAudit } from '@/lib/audit/append'
import type { Actor } from '@/lib/auth/actor'
import { assertCan, type Permission } from '@/lib/auth/permissions'
import type { Tx } from '@/lib/db/client'
import { transaction } from '@/lib/db/transaction'
import { systemClock } from '@/lib/kernel/clock'
import { CivilDateInput } from '@/lib/kernel/date-schema'
import { civilDateAt } from '@/lib/kernel/dates'
import { AppError } from '@/lib/kernel/errors'
import { freshSeed } from '@/lib/scenarios/commands'
import { Id } from '@/lib/scenarios/schema'
import type { Prisma } from '@/prisma/client/client'
import { loadBank } from './content'
import { drawForm } from './core/draw'
import {
  adoptable,
  cutOf,
  hasRated,
  type Judge,
  noRatings,
  type PanelItem,
  type PanelRatings,
  pointsOf,
} from './panel'
import { designOrThrow } from './queries'
import type { QuizDesign } from './schema'

const json = (value: object) => value as unknown as Prisma.InputJsonValue

export const BeginPanelInput = z.object({
  countyId: z.string().max(60),
  quizKey: Id,
  heldOn: CivilDateInput,
  /** One role a line. */
  roles: z.string().max(3000),
  forms: z.coerce.number().int().min(1).max(4),
})

/** Begins a panel on the questions of some drawn forms. @throws AppError NOT_FOUND, FORBIDDEN, INVALID_INPUT */
export async function beginPanel(
  actor: Actor,
  input: z.output<typeof BeginPanelInput>,
): Promise<{ panelId: string }> {
  const at = systemClock.now()
  const roles = input.roles
    .split('\n')
    .map((role) => role.trim())
    .filter(Boolean)
  return transaction(async (tx) => {
    assertCan(actor, 'runQuizzes', input.countyId)
    const design = designOrThrow(input.quizKey)
    const county = await tx.county.findUniqueOrThrow({ where: { id: input.countyId } })
    if (input.heldOn > civilDateAt(at, county.timeZone))
      throw new AppError('INVALID_INPUT', {
        userMessage: 'A panel’s day can’t lie in the future.',
        fields: { heldOn: 'Choose today or an earlier day.' },
      })
    if (roles.length < 2 || roles.length > 30 || roles.some((role) => role.length > 80))
      throw new AppError('INVALID_INPUT', {
        userMessage: 'A panel has from 2 to 30 judges. Nothing was saved.',
        fields: { roles: 'Write one role on each line, of at most 80 letters.' },
      })
    const items = itemsFor(design, input.forms)
    const panel = await tx.panel.create({
      data: {
        countyId: input.countyId,
        quizKey: input.quizKey,
        heldOn: input.heldOn,
        items: json(items),
        judges: json(roles.map((role): Judge => ({ role }))),
        ratings: json(noRatings(roles.length, items.length)),
        createdBy: actor.accountId,
        createdAt: at,
      },
    })
    await appendAudit(
      tx,
      { chain: input.countyId, actorAccountId: actor.accountId, at },
      {
        event: 'panel.begun',
        subject: `panel:${panel.id}`,
        detail: { quizKey: input.quizKey, judges: roles.length, items: items.length },
      },
    )
    return { panelId: panel.id }
  })
}

/** The questions of so many forms, each once, and the stories. All forms together weigh like one.
 *  @throws AppError UNAVAILABLE where the bank can't fill the quiz */
function itemsFor(design: QuizDesign, forms: number): PanelItem[] {
  const drawn: string[][] = []
  const exposure = new Map<string, number>()
  for (let i = 0; i < forms; i++) {
    const outcome = drawForm({ design, bank: loadBank(), seed: freshSeed(), exposure })
    if (outcome.status !== 'drawn')
      throw new AppError('UNAVAILABLE', {
        userMessage: 'The bank has too few questions for this quiz, so there is nothing to rate.',
      })
    const { questionIds, trialIds } = outcome.form
    drawn.push(questionIds.filter((id) => !trialIds.includes(id)))
    for (const id of questionIds) exposure.set(id, (exposure.get(id) ?? 0) + 1)
  }
  const times = new Map<string, number>()
  for (const id of drawn.flat()) times.set(id, (times.get(id) ?? 0) + 1)
  return [
    ...[...times].map(
      ([id, n]): PanelItem => ({
        id,
        kind: 'question',
        version: loadBank().get(id)!.version,
        weight: n / forms,
      }),
    ),
    ...design.scenarios.map(({ key, weight }): PanelItem => ({ id: key, kind: 'story', version: 1, weight })),
  ]
}

/** A panel of the county under its lock. */
async function panelOrThrow(tx: Tx, actor: Actor, permission: Permission, countyId: string, panelId: string) {
  assertCan(actor, permission, countyId)
  await tx.$executeRaw`SELECT 1 FROM "Panel" WHERE id = ${panelId}::uuid FOR UPDATE`
  const panel = await tx.panel.findFirst({ where: { id: panelId, countyId } })
  if (!panel) throw new AppError('NOT_FOUND', { userMessage: 'There is no such panel.' })
  return {
    ...panel,
    items: panel.items as unknown as PanelItem[],
    judges: panel.judges as unknown as Judge[],
    ratings: panel.ratings as unknown as PanelRatings,
  }
}
const assertOpen = (panel: { closedAt: Date | null }) => {
  if (panel.closedAt)
    throw new AppError('CONFLICT', {
      userMessage: 'This panel is closed: its record no longer changes. Hold another one.',
    })
}

export const RateInput = z.looseObject({
  countyId: z.string().max(60),
  panelId: z.uuid(),
  judge: z.coerce.number().int().min(0).max(29),
  round: z.coerce.number().int().min(1).max(2),
})

const percentIn = (value: unknown): number | null => {
  const text = typeof value === 'string' ? value.trim().replace(/\s*%$/, '') : ''
  return /^\d{1,3}$/.test(text) && Number(text) <= 100 ? Number(text) / 100 : null
}

/** Keeps one judge's ratings of one round; typed again, the last ones count. Fields `rating-<id>`: 0 to 100.
 *  @throws AppError NOT_FOUND, FORBIDDEN, INVALID_INPUT, CONFLICT */
export async function ratePanel(actor: Actor, input: z.output<typeof RateInput>): Promise<void> {
  const at = systemClock.now()
  const round = input.round as 1 | 2
  await transaction(async (tx) => {
    const panel = await panelOrThrow(tx, actor, 'runQuizzes', input.countyId, input.panelId)
    assertOpen(panel)
    if (!panel.judges[input.judge])
      throw new AppError('NOT_FOUND', { userMessage: 'There is no such judge.' })
    if (round === 2 && panel.judges.some((_, judge) => !hasRated(panel.ratings, 1, judge)))
      throw new AppError('CONFLICT', {
        userMessage: 'The second round begins when everybody has rated in the first one and you have talked.',
      })
    const values = panel.items.map((item) => percentIn(input[`rating-${item.id}`]))
    const fields = Object.fromEntries(
      panel.items.flatMap((item, i) =>
        values[i] === null ? [[`rating-${item.id}`, 'Write a whole number from 0 to 100.']] : [],
      ),
    )
    if (Object.keys(fields).length > 0)
      throw new AppError('INVALID_INPUT', {
        userMessage: `Every question needs a number from 0 to 100; ${Object.keys(fields).length} are missing. Nothing was saved yet.`,
        fields,
      })
    const ratings = structuredClone(panel.ratings)
    ratings[round - 1]![input.judge] = values
    await tx.panel.update({
      where: { id: panel.id },
      data: { ratings: json(ratings), revision: { increment: 1 } },
    })
    await appendAudit(
      tx,
      { chain: input.countyId, actorAccountId: actor.accountId, at },
      { event: 'panel.rated', subject: `panel:${panel.id}`, detail: { judge: input.judge, round } },
    )
  })
}

export const ClosePanelInput = z.object({ countyId: z.string().max(60), panelId: z.uuid() })

/** Closes the record: from then on it doesn't change. @throws AppError NOT_FOUND, FORBIDDEN, CONFLICT */
export async function closePanel(actor: Actor, input: z.output<typeof ClosePanelInput>): Promise<void> {
  const at = systemClock.now()
  await transaction(async (tx) => {
    const panel = await panelOrThrow(tx, actor, 'runQuizzes', input.countyId, input.panelId)
    assertOpen(panel)
    const cut = cutOf(panel.items, panel.ratings, 2)
    if (!cut)
      throw new AppError('CONFLICT', {
        userMessage: 'A panel is closed after the second round: somebody’s ratings are still missing.',
      })
    await tx.panel.update({ where: { id: panel.id }, data: { closedAt: at } })
    await appendAudit(
      tx,
      { chain: input.countyId, actorAccountId: actor.accountId, at },
      {
        event: 'panel.closed',
        subject: `panel:${panel.id}`,
        detail: {
          fraction: cut.fraction,
          standardError: cut.standardError === null ? null : cut.standardError / pointsOf(panel.items),
        },
      },
    )
  })
}

export const AdoptInput = z.object({
  countyId: z.string().max(60),
  panelId: z.uuid(),
  which: z.enum(['lower', 'mean', 'higher']),
})

/** From now on the quiz is passed by this mark in the county; sittings that have begun keep theirs.
 *  @throws AppError NOT_FOUND, FORBIDDEN, CONFLICT */
export async function adoptPassMark(actor: Actor, input: z.output<typeof AdoptInput>): Promise<void> {
  const at = systemClock.now()
  await transaction(async (tx) => {
    const panel = await panelOrThrow(tx, actor, 'decideQuizzes', input.countyId, input.panelId)
    const cut = cutOf(panel.items, panel.ratings, 2)
    if (!panel.closedAt || !cut)
      throw new AppError('CONFLICT', {
        userMessage: 'Close the panel first: a pass mark comes from a record that no longer changes.',
      })
    const { fraction } = adoptable(panel.items, cut).find((mark) => mark.key === input.which)!
    await tx.panel.update({ where: { id: panel.id }, data: { adoptedAt: at, cutFraction: fraction } })
    await appendAudit(
      tx,
      { chain: input.countyId, actorAccountId: actor.accountId, at },
      {
        event: 'pass-mark.adopted',
        subject: `panel:${panel.id}`,
        detail: { quizKey: panel.quizKey, cutFraction: fraction },
      },
    )
  })
}
