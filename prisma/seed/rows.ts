import type { Prisma } from '@/prisma/client/client'

/** Every id set, every column that the generator decides on set: two runs can be compared row by row. */
type Row<Input, Optional extends keyof Input = never> = Required<Omit<Input, Optional>> &
  Pick<Input, Optional>

export type StateRow = Row<Prisma.StateCreateManyInput, 'settings'>
export type CountyRow = Row<Prisma.CountyCreateManyInput, 'settings'>
export type PollWorkerRow = Row<
  Prisma.PollWorkerCreateManyInput,
  'createdAt' | 'mergedIntoId' | 'student' | 'livesOutside' | 'homePrecinct'
> & {
  languages: string[]
  unavailableOn: string[]
}
export type PollingPlaceRow = Row<
  Prisma.PollingPlaceCreateManyInput,
  'located' | 'contactName' | 'contactPhone' | 'keysNote' | 'features'
>
export type OpeningRow = Row<Prisma.OpeningCreateManyInput>
export type PrecinctRow = Row<Prisma.PrecinctCreateManyInput>
export type PositionRow = Row<Prisma.PositionCreateManyInput>
export type ElectionRow = Row<Prisma.ElectionCreateManyInput>
export type SeatRow = Row<Prisma.SeatCreateManyInput>
export type FactRow = Row<Prisma.FactCreateManyInput, 'witnessedBy'>
export type RuleSetRow = Row<Prisma.RuleSetCreateManyInput>
export type SpanRow = Row<Prisma.CertificateSpanCreateManyInput>
export type AccountRow = Pick<
  Row<Prisma.AccountCreateManyInput>,
  'id' | 'email' | 'name' | 'locale' | 'pollWorkerId'
>
export type GrantRow = Pick<Row<Prisma.GrantCreateManyInput>, 'id' | 'accountId' | 'access' | 'countyId'>

export type DefinitionRow = Row<Prisma.DefinitionVersionCreateManyInput, 'createdAt'>
export type AttemptRow = Row<Prisma.AttemptCreateManyInput, 'onPaper' | 'withdrawnAt' | 'withdrawnWhy'>
export type AttemptEventRow = Row<Prisma.AttemptEventCreateManyInput>

/** A printed card as the demonstration shows it; only the hash of `code` is stored. */
export interface CardRow {
  id: string
  accountId: string
  code: string
  expiresAt: Date
}

/** One county and everything in it, ready to be written. */
export interface CountyRows {
  county: CountyRow
  pollWorkers: PollWorkerRow[]
  pollingPlaces: PollingPlaceRow[]
  /** Hours for voters; empty where the county has noted none. */
  openings: OpeningRow[]
  precincts: PrecinctRow[]
  positions: PositionRow[]
  /** The previous general election, then the next one. */
  elections: [previous: ElectionRow, next: ElectionRow]
  seats: SeatRow[]
  facts: FactRow[]
  ruleSets: RuleSetRow[]
  spans: SpanRow[]
  accounts: AccountRow[]
  grants: GrantRow[]
  cards: CardRow[]
  /** Quizzes that were sat; empty where no quiz was given. */
  definitions: DefinitionRow[]
  attempts: AttemptRow[]
  attemptEvents: AttemptEventRow[]
}
