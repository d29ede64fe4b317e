/** What every part of an import's plan stands on. */
import type { Tx } from '@/lib/db/client'
import { systemClock } from '@/lib/kernel/clock'
import { type CivilDate, civilDateAt } from '@/lib/kernel/dates'
import type { ImportKind, Mapping } from './core/fields'
import type { PositionName } from './core/people'
import type { Problem } from './core/row-reader'
import type { Finding, ImportOutcome, ImportSettings } from './outcome'

export interface ImportOf {
  countyId: string
  kind: ImportKind
  /** As somebody chose it; null: as the header suggests and as it was chosen before. */
  mapping: Mapping | null
  settings: ImportSettings
}

export interface MadePlan {
  outcome: ImportOutcome
  findings: Finding[]
  /** Writes all of it in the caller's transaction. */
  write: (tx: Tx, by: { accountId: string; at: Date }) => Promise<void>
}

type Counted = Pick<ImportOutcome, 'create' | 'change' | 'same'>
export interface Part extends Counted {
  problems: Problem[]
  findings: Finding[]
  duplicates: number
  /** What is written, for the plan's hash. */
  items: unknown
  write: MadePlan['write']
}

export async function todayIn(tx: Tx, countyId: string): Promise<CivilDate> {
  const county = await tx.county.findUniqueOrThrow({ where: { id: countyId }, select: { timeZone: true } })
  return civilDateAt(systemClock.now(), county.timeZone)
}

export async function positionNames(tx: Tx, countyId: string): Promise<PositionName[]> {
  const rows = await tx.position.findMany({ where: { countyId }, orderBy: [{ rank: 'asc' }, { key: 'asc' }] })
  return rows.map((row) => ({ key: row.key, names: [row.nameEn, row.nameEs] }))
}

export const changeFinding = (
  p: { row: number; action: string; fields: string[] },
  value: string,
): Finding => ({
  kind: p.action === 'create' ? 'create' : 'change',
  row: p.row,
  column: null,
  value,
  message:
    p.action === 'create' ? 'New' : `Changes ${p.fields.map((key) => FIELD_WORDS[key] ?? key).join(', ')}`,
})

const FIELD_WORDS: Record<string, string> = {
  givenName: 'first name',
  familyName: 'last name',
  birthYear: 'birth year',
  email: 'e-mail',
  phone: 'telephone',
  homeAddress: 'address',
  homeLat: 'latitude',
  homeLon: 'longitude',
  lat: 'latitude',
  lon: 'longitude',
  located: 'coordinates known',
  confidentialAddress: 'confidential address',
  wantsPositionKey: 'position',
  electionsServed: 'elections served',
  maxTravelKm: 'most miles',
  unavailableOn: 'days away',
  offersShift: 'part of the day',
  equipmentProfile: 'equipment',
  registeredVoters: 'registered voters',
  placeCode: 'polling place',
  rank: 'rank',
}
