/** The parts of a person's record, in the order in which they are shown. */
export const RECORD_PARTS = [
  'person',
  'account',
  'access',
  'certificates',
  'spans',
  'facts',
  'attempts',
  'paperAnswers',
  'appeals',
  'classes',
  'offers',
  'seats',
  'nominations',
  'reminders',
  'calls',
  'notes',
  'corrections',
  'exclusions',
  'pairs',
  'pay',
  'messages',
  'signIns',
  'codes',
  'audit',
] as const
export type RecordPartKey = (typeof RECORD_PARTS)[number]

/** Each model of the database that holds something personal, and the part of the record that tells it; or why none does.
 *  tests/db/record checks that none is missing. */
export const PERSONAL_MODELS: Record<string, RecordPartKey | { leftOut: string }> = {
  PollWorker: 'person',
  Account: 'account',
  Grant: 'access',
  SignIn: 'signIns',
  SignInCode: 'codes',
  OutboxMessage: 'messages',
  AuditRecord: 'audit',
  Fact: 'facts',
  CertificateSpan: 'spans',
  Certificate: 'certificates',
  CertificateIssue: 'certificates',
  Attempt: 'attempts',
  AttemptEvent: 'attempts',
  PaperEntry: 'paperAnswers',
  Appeal: 'appeals',
  Remark: {
    leftOut: 'speaks of a question and of many attempts; its effect stands in the attempt’s own result',
  },
  ClassBooking: 'classes',
  Seating: 'seats',
  Offer: 'offers',
  OfferEvent: 'offers',
  Nomination: 'nominations',
  SeatingBefore: { leftOut: 'a draft of the roster, kept to compare with' },
  PaperFile: { leftOut: 'papers for a whole county, made from what stands in the other parts' },
  PeopleMerge: { leftOut: 'holds two people’s values, so that joining them can be undone' },
  NotTheSame: { leftOut: 'says of somebody else that they are another person' },
  DuplicateSearch: { leftOut: 'derived: ids that look alike, found anew at any time' },
  ImportChunk: { leftOut: 'a file that the office read in; what was taken over stands with the person' },
  ImportFinding: { leftOut: 'a line of such a file; goes with it' },
  Reminder: 'reminders',
  ReminderMatter: 'reminders',
  Contact: 'calls',
  PersonNote: 'notes',
  CorrectionRequest: 'corrections',
  Exclusion: 'exclusions',
  PersonPair: 'pairs',
  PayEntry: 'pay',
  PollingPlace: { leftOut: 'names whom to call at a building; those are not poll workers' },
}

export type RecordValue =
  | string
  | number
  | boolean
  | null
  | readonly RecordValue[]
  | { readonly [name: string]: RecordValue }
export type RecordRow = Readonly<Record<string, RecordValue>>

export interface PersonRecord {
  /** When it was put together; an instant. */
  madeAt: string
  workerId: string
  parts: Record<RecordPartKey, RecordRow[]>
}
