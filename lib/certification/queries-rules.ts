import type { Actor } from '@/lib/auth/actor'
import { assertCan } from '@/lib/auth/permissions'
import { db } from '@/lib/db/client'
import { systemClock } from '@/lib/kernel/clock'
import { type CivilDate, civilDateAt } from '@/lib/kernel/dates'
import { AppError } from '@/lib/kernel/errors'
import { loadPolicyTemplates } from './content'
import { previewRules, type RulePreview } from './core/preview'
import { requirementSentence } from './core/sentence'
import { ruleSetOn, topicsOf } from './core/spans-of'
import { listElectionDates, listFactsOf, listPolicies } from './queries'
import { Policy, type PolicyTemplate, type Requirement, type RuleSet } from './schema'

export interface RuleVersion {
  version: number
  effectiveFrom: CivilDate
  citation: string
  sentence: { en: string; es: string }
  requirement: Requirement
  state: 'in effect' | 'to come' | 'earlier'
}

export interface RuleSummary {
  certificateKey: string
  name: string
  /** Newest first. */
  versions: RuleVersion[]
  hasTemplate: boolean
  /** The citation is still the template's: nobody has checked this rule against law. */
  unchecked: boolean
}

const bothSentences = (requirement: Requirement) => ({
  en: requirementSentence(requirement, 'en'),
  es: requirementSentence(requirement, 'es'),
})

async function countyOrThrow(actor: Actor, countyId: string) {
  assertCan(actor, 'publishRules', countyId)
  const county = await db().county.findUnique({ where: { id: countyId } })
  if (!county) throw new AppError('NOT_FOUND', { userMessage: 'There is no such county.' })
  return { id: county.id, name: county.name, today: civilDateAt(systemClock.now(), county.timeZone) }
}

function versionsOf(policy: Policy | undefined, today: CivilDate): RuleVersion[] {
  if (!policy) return []
  const now = ruleSetOn(policy, today)
  return [...policy.ruleSets]
    .sort((a, b) => b.version - a.version)
    .map((ruleSet) => ({
      version: ruleSet.version,
      effectiveFrom: ruleSet.effectiveFrom,
      citation: ruleSet.citation,
      requirement: ruleSet.requirement,
      sentence: bothSentences(ruleSet.requirement),
      state:
        ruleSet.version === now?.version
          ? ('in effect' as const)
          : ruleSet.effectiveFrom > today
            ? ('to come' as const)
            : ('earlier' as const),
    }))
}

const isTemplates = (template: PolicyTemplate | undefined, citation: string | undefined): boolean =>
  template?.policy.ruleSets.some((ruleSet) => ruleSet.citation === citation) ?? false

/** Every certificate of a county with its rule in words, in order of the positions. @throws AppError NOT_FOUND, FORBIDDEN */
export async function listRules(
  actor: Actor,
  countyId: string,
): Promise<{ county: { id: string; name: string }; rules: RuleSummary[] }> {
  const county = await countyOrThrow(actor, countyId)
  const [policies, positions] = await Promise.all([
    listPolicies(db(), countyId),
    db().position.findMany({ where: { countyId }, orderBy: { rank: 'asc' } }),
  ])
  const templates = loadPolicyTemplates()
  const keys = [...new Set([...positions.map((p) => p.certificateKey), ...policies.keys()])]
  return {
    county,
    rules: keys.map((key) => {
      const versions = versionsOf(policies.get(key), county.today)
      return {
        certificateKey: key,
        name: positions.find((p) => p.certificateKey === key)?.nameEn ?? key,
        versions,
        hasTemplate: templates.has(key),
        unchecked: isTemplates(templates.get(key), versions[0]?.citation),
      }
    }),
  }
}

export interface RulePage extends RuleSummary {
  county: { id: string; name: string; today: CivilDate }
  template: { notice: string; requirement: Requirement; citation: string } | null
  equipmentProfiles: string[]
}

/** One certificate's rule, for its form. @throws AppError NOT_FOUND, FORBIDDEN */
export async function getRuleOrThrow(actor: Actor, countyId: string, key: string): Promise<RulePage> {
  const county = await countyOrThrow(actor, countyId)
  const { rules } = await listRules(actor, countyId)
  const rule = rules.find((r) => r.certificateKey === key)
  if (!rule) throw new AppError('NOT_FOUND', { userMessage: 'This county has no such certificate.' })
  const places = await db().pollingPlace.findMany({
    where: { countyId },
    select: { equipmentProfile: true },
    distinct: ['equipmentProfile'],
    orderBy: { equipmentProfile: 'asc' },
  })
  const template = loadPolicyTemplates().get(key)
  const newest = template?.policy.ruleSets.at(-1)
  return {
    ...rule,
    county,
    template:
      template && newest
        ? { notice: template.notice.en, requirement: newest.requirement, citation: newest.citation }
        : null,
    equipmentProfiles: places.map((place) => place.equipmentProfile),
  }
}

/** Some 20 ms of work. */
const PEOPLE_AT_ONCE = 1000

export interface PreviewPerson {
  id: string
  name: string
  countyRef: string
}

export interface RulePreviewPage {
  sentence: { en: string; es: string }
  /** The day that people are judged for: the first election day on which the rule counts, else its first day. */
  on: CivilDate
  election: string | null
  gain: PreviewPerson[]
  lose: PreviewPerson[]
  /** Of those who lose it, the ones with a seat in the newest roster of that election. */
  seatedLosers: number
  keep: number
  neither: number
}

/** What a rule would do to the county's people if it were published now. Reads the facts that
 *  the rule asks for, once.
 *  @throws AppError NOT_FOUND, FORBIDDEN */
export async function previewRule(
  actor: Actor,
  countyId: string,
  certificateKey: string,
  wanted: { requirement: Requirement; effectiveFrom: CivilDate },
): Promise<RulePreviewPage> {
  await countyOrThrow(actor, countyId)
  const [policies, elections, people, election] = await Promise.all([
    listPolicies(db(), countyId),
    listElectionDates(db(), countyId),
    db().$queryRaw<{ id: string }[]>`SELECT id FROM "PollWorker" WHERE "countyId" = ${countyId} AND active`,
    db().election.findFirst({
      where: { countyId, heldOn: { gte: wanted.effectiveFrom } },
      orderBy: { heldOn: 'asc' },
    }),
  ])
  const before = policies.get(certificateKey)
  const next: RuleSet = {
    certificateKey,
    version: Math.max(0, ...(before?.ruleSets.map((r) => r.version) ?? [])) + 1,
    effectiveFrom: wanted.effectiveFrom,
    requirement: wanted.requirement,
    citation: 'preview',
  }
  const after = Policy.parse({
    certificateKey,
    ruleSets: [...(before?.ruleSets ?? []), next],
    equipmentChanges: before?.equipmentChanges ?? [...policies.values()][0]?.equipmentChanges ?? [],
  })
  const on = (election?.heldOn ?? wanted.effectiveFrom) as CivilDate
  const facts = await listFactsOf(db(), countyId, topicsOf(after))
  const parts: RulePreview[] = []
  for (let i = 0; i < people.length; i += PEOPLE_AT_ONCE) {
    // Other requests get their turn in between.
    await new Promise((resolve) => setImmediate(resolve))
    parts.push(
      previewRules(
        // A certificate without any rule is held by nobody.
        before ?? { ...after, ruleSets: [{ ...next, effectiveFrom: '2999-12-31' as CivilDate }] },
        after,
        people.slice(i, i + PEOPLE_AT_ONCE).map(({ id }) => ({ id, facts: facts.get(id) ?? [] })),
        elections,
        on,
      ),
    )
  }
  const gain = parts.flatMap((part) => part.gain)
  const lose = parts.flatMap((part) => part.lose)
  const sum = (of: 'keep' | 'neither') => parts.reduce((n, part) => n + part[of], 0)
  const named = async (ids: string[]): Promise<PreviewPerson[]> =>
    (
      await db().$queryRaw<{ id: string; givenName: string; familyName: string; countyRef: string }[]>`
        SELECT id, "givenName", "familyName", "countyRef" FROM "PollWorker" WHERE id = ANY(${ids}::uuid[])
        ORDER BY "familyName", "givenName", id`
    ).map((p) => ({ id: p.id, name: `${p.familyName}, ${p.givenName}`, countyRef: p.countyRef }))
  const roster = election
    ? await db().roster.findFirst({ where: { electionId: election.id }, orderBy: { version: 'desc' } })
    : null
  const seatedLosers = roster
    ? (
        await db().seating.findMany({
          where: { rosterId: roster.id, pollWorkerId: { in: lose }, seat: { position: { certificateKey } } },
          distinct: ['pollWorkerId'],
          select: { pollWorkerId: true },
        })
      ).length
    : 0
  return {
    sentence: bothSentences(wanted.requirement),
    on,
    election: election?.name ?? null,
    gain: await named(gain),
    lose: await named(lose),
    seatedLosers,
    keep: sum('keep'),
    neither: sum('neither'),
  }
}

export interface PositionsPage {
  county: { id: string; name: string; today: CivilDate }
  positions: {
    key: string
    nameEn: string
    nameEs: string
    rank: number
    certificateKey: string
    /** Somebody can hold its certificate: a rule is in effect or to come. */
    ruled: boolean
  }[]
  /** Shipped positions that the county has not, in order of rank. */
  templates: { key: string; name: string; sentence: string }[]
}

/** A county's positions in order of rank, and what it may adopt. @throws AppError NOT_FOUND, FORBIDDEN */
export async function getPositionsPage(actor: Actor, countyId: string): Promise<PositionsPage> {
  const county = await countyOrThrow(actor, countyId)
  const [policies, rows] = await Promise.all([
    listPolicies(db(), countyId),
    db().position.findMany({ where: { countyId }, orderBy: [{ rank: 'asc' }, { key: 'asc' }] }),
  ])
  return {
    county,
    positions: rows.map(({ key, nameEn, nameEs, rank, certificateKey }) => ({
      key,
      nameEn,
      nameEs,
      rank,
      certificateKey,
      ruled: policies.has(certificateKey),
    })),
    templates: [...loadPolicyTemplates().values()]
      .filter((template) => !rows.some((row) => row.key === template.key))
      .sort((a, b) => a.rank - b.rank)
      .map((template) => ({
        key: template.key,
        name: template.names.en,
        sentence: requirementSentence(template.policy.ruleSets.at(-1)!.requirement, 'en'),
      })),
  }
}
