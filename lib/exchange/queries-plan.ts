import { setImmediate } from 'node:timers/promises'
import type { Tx } from '@/lib/db/client'
import { canonicalJson, sha256Hex } from '@/lib/kernel/hash'
import { inSlices } from '@/lib/kernel/slices'
import { writePeople } from '@/lib/people/commands-import'
import { writePlaces } from '@/lib/places/commands-import'
import { listEquipmentProfiles } from '@/lib/scenarios/content'
import { Prisma } from '@/prisma/client/client'
import { FIELDS, type Mapping, mappingProblems, suggestMapping } from './core/fields'
import { type PeoplePlan, planPeopleInSlices } from './core/people'
import { type PlacesGround, type PlacesTold, planPlaces, readPlaces } from './core/places'
import { readVipPlaces, type VipTold } from './core/vip-places'
import type { Finding, ImportOutcome } from './outcome'
import {
  changeFinding,
  type ImportOf,
  type MadePlan,
  type Part,
  positionNames,
  todayIn,
} from './queries-plan-ground'
import { nominationPart, servicePart, trainingPart } from './queries-plan-lists'
import type { FileRead } from './read-file'
import { type Table, UnreadableFile } from './table'

/** The dry run of a file against the county as `tx` sees it. Nothing is written. A long one calls `pause` again and
 *  again, so that its process can do other things; what that throws ends it. @throws UnreadableFile */
export async function planFor(
  tx: Tx,
  of: ImportOf,
  file: FileRead,
  pause: () => Promise<void> = setImmediate,
): Promise<MadePlan> {
  if (file.kind === 'vip') {
    if (of.kind !== 'places')
      throw new UnreadableFile(
        'This is a VIP feed: it holds places and precincts. Bring it in as places, or choose a CSV or Excel file.',
      )
    return planFeed(tx, of, file.vip)
  }
  const { table } = file
  const mapping = of.mapping ?? suggestMapping(of.kind, table.header, await rememberedMapping(tx, of))
  const given = new Set(Object.entries(of.settings).flatMap(([key, value]) => (value ? [key] : [])))
  const wrong = mappingProblems(of.kind, table.header, mapping, given)
  const base = { rows: table.rows.length, columns: table.header, mapping, notes: table.notes }
  if (wrong.length > 0)
    return madeFrom(base, {
      ...nothing(),
      findings: wrong.map(({ field, message }) => ({
        kind: 'error' as const,
        row: null,
        column: FIELDS[of.kind].find((f) => f.key === field)?.label ?? field,
        value: null,
        message,
      })),
    })
  return madeFrom(base, await planTable(tx, of, table, mapping, pause))
}

const nothing = (): Part => ({
  create: 0,
  change: 0,
  same: 0,
  problems: [],
  findings: [],
  duplicates: 0,
  items: [],
  write: async () => undefined,
})

function madeFrom(
  base: Pick<ImportOutcome, 'rows' | 'columns' | 'mapping' | 'notes' | 'feed'>,
  part: Part,
): MadePlan {
  const findings = [
    ...part.problems.map(({ severity, ...problem }): Finding => ({ kind: severity, ...problem })),
    ...part.findings,
  ]
  const count = (kind: string) => findings.filter((f) => f.kind === kind).length
  const { create, change, same, duplicates } = part
  return {
    outcome: {
      ...base,
      create,
      change,
      same,
      duplicates,
      errors: count('error'),
      warnings: count('warning'),
      planHash: sha256Hex(canonicalJson(part.items)),
    },
    findings,
    write: part.write,
  }
}

async function planTable(
  tx: Tx,
  of: ImportOf,
  table: Table,
  mapping: Mapping,
  pause: () => Promise<void>,
): Promise<Part> {
  switch (of.kind) {
    case 'people':
      return peoplePart(
        await inSlices(
          planPeopleInSlices(table, mapping, {
            known: await tx.pollWorker.findMany({ where: { countyId: of.countyId } }),
            positions: await positionNames(tx, of.countyId),
            year: Number((await todayIn(tx, of.countyId)).slice(0, 4)),
            precincts: await precinctCodes(tx, of.countyId),
          }),
          pause,
        ),
        of.countyId,
      )
    case 'places':
      return placesPart(readPlaces(table, mapping), await placesGround(tx, of.countyId), of.countyId)
    case 'service':
      return servicePart(tx, of, table, mapping)
    case 'training':
      return trainingPart(tx, of, table, mapping)
    case 'nominations':
      return nominationPart(tx, of, table, mapping)
  }
}

async function precinctCodes(tx: Tx, countyId: string): Promise<Set<string>> {
  const rows = await tx.precinct.findMany({ where: { countyId }, select: { code: true } })
  return new Set(rows.map((row) => row.code.toLowerCase()))
}

async function planFeed(tx: Tx, of: ImportOf, vip: Parameters<typeof readVipPlaces>[0]): Promise<MadePlan> {
  const all = readVipPlaces(vip, null)
  const county = await tx.county.findUniqueOrThrow({ where: { id: of.countyId }, select: { name: true } })
  const chosen = of.settings.localityId || localityFor(all, county.name)
  const told = chosen === null ? all : readVipPlaces(vip, chosen)
  const { counts, electionOn } = told
  const part = await placesPart(told, await placesGround(tx, of.countyId), of.countyId)
  if (chosen === null && all.localities.length > 1)
    part.findings.unshift({
      kind: 'error',
      row: null,
      column: 'Locality',
      value: null,
      message: `The feed has precincts of ${all.localities.length} localities. Choose yours above, then check again.`,
    })
  const feed = { version: vip.version, electionOn, counts, localities: all.localities }
  return madeFrom({ rows: vip.objects.length, columns: [], mapping: {}, notes: [], feed }, part)
}

/** The only locality with precincts, or the one that is named like the county. */
function localityFor(all: VipTold, countyName: string): string | null {
  if (all.localities.length === 1) return all.localities[0]!.id
  const plain = (text: string) =>
    text
      .toLowerCase()
      .replace(/\b(county|parish|borough)\b/g, '')
      .replace(/[^a-z]/g, '')
  return all.localities.find((l) => plain(l.name) === plain(countyName))?.id ?? null
}

/** The columns that were chosen for this kind the last time. */
async function rememberedMapping(tx: Tx, of: ImportOf): Promise<Mapping> {
  const last = await tx.import.findFirst({
    where: { countyId: of.countyId, kind: of.kind, mapping: { not: Prisma.DbNull } },
    orderBy: { createdAt: 'desc' },
    select: { mapping: true },
  })
  return (last?.mapping ?? {}) as Mapping
}

function peoplePart(plan: PeoplePlan, countyId: string): Part {
  const wanted = plan.people.filter((p) => p.action !== 'same')
  const count = (action: string) => plan.people.filter((p) => p.action === action).length
  return {
    create: count('create'),
    change: count('change'),
    same: count('same'),
    problems: plan.problems,
    duplicates: plan.duplicates.length,
    findings: [
      ...plan.duplicates.map(
        (d): Finding => ({
          kind: 'duplicate',
          row: d.row,
          column: null,
          value: d.otherRef ?? `row ${d.otherRow}`,
          message: `${d.otherRef === null ? `Row ${d.otherRow}` : `Number ${d.otherRef}`} may be the same person: ${d.agree.map((a) => AGREE[a]).join(', ')} (names ${d.nameSimilarity.toFixed(2)} alike).`,
        }),
      ),
      ...wanted.map((p): Finding => changeFinding(p, p.values.countyRef)),
    ],
    items: wanted.map((p) => [p.action, p.id, pick(p)]),
    write: (tx) =>
      writePeople(
        tx,
        countyId,
        wanted.map((p) => ({ id: p.id, values: pick(p) })),
      ),
  }
}

const AGREE: Record<string, string> = {
  name: 'name',
  familyName: 'last name',
  birthYear: 'birth year',
  email: 'e-mail',
  phone: 'telephone',
  address: 'address',
}

/** Of a person who is there, only what changes. */
const pick = (p: PeoplePlan['people'][number]): object =>
  p.action === 'create'
    ? p.values
    : Object.fromEntries(p.fields.map((key) => [key, p.values[key as keyof typeof p.values]]))

async function placesGround(tx: Tx, countyId: string): Promise<PlacesGround> {
  const county = await tx.county.findUniqueOrThrow({
    where: { id: countyId },
    select: { equipmentProfile: true },
  })
  const places = await tx.pollingPlace.findMany({
    where: { countyId },
    include: { openings: { orderBy: [{ firstOn: 'asc' }, { opensAt: 'asc' }] } },
  })
  const precincts = await tx.precinct.findMany({
    where: { countyId },
    include: { pollingPlace: { select: { code: true } } },
  })
  return {
    places: places.map(({ openings, countyId: _, ...place }) => ({
      ...place,
      hours: openings.map(({ firstOn, lastOn, opensAt, closesAt }) => ({
        firstOn,
        lastOn,
        opensAt,
        closesAt,
      })),
    })),
    precincts: precincts.map((p) => ({
      id: p.id,
      code: p.code,
      name: p.name,
      registeredVoters: p.registeredVoters,
      placeCode: p.pollingPlace?.code ?? null,
    })),
    profiles: listEquipmentProfiles().map((profile) => profile.id),
    defaultProfile: county.equipmentProfile,
  }
}

async function placesPart(told: PlacesTold, ground: PlacesGround, countyId: string): Promise<Part> {
  const plan = planPlaces(told, ground)
  const all = [...plan.places, ...plan.precincts]
  const count = (action: string) => all.filter((p) => p.action === action).length
  const places = plan.places.filter((p) => p.action !== 'same')
  const precincts = plan.precincts.filter((p) => p.action !== 'same')
  return {
    create: count('create'),
    change: count('change'),
    same: count('same'),
    problems: plan.problems,
    duplicates: 0,
    findings: [
      ...places.map((p) => changeFinding(p, `place ${p.values.code}`)),
      ...precincts.map((p) => changeFinding(p, `precinct ${p.values.code}`)),
    ],
    items: [places, precincts].map((list) => list.map((p) => [p.action, p.id, p.values])),
    write: (tx) =>
      writePlaces(
        tx,
        countyId,
        places.map((p) => ({
          id: p.id,
          ...p.values,
          hours: p.fields.includes('hours') ? p.values.hours : null,
        })),
        precincts.map((p) => ({ id: p.id, ...p.values })),
      ),
  }
}
