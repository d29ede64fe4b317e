/** The state office stands in addresses beside its counties. */
export const STATE_SEGMENT = 'state-office'

export const countyIdOf = (segment: string): string | null => (segment === STATE_SEGMENT ? null : segment)
export const segmentOf = (countyId: string | null): string => countyId ?? STATE_SEGMENT

export const ACCESS_WORDS = {
  administrator: 'Administrator',
  countyStaff: 'County staff',
  trainer: 'Trainer',
  pollWorker: 'Poll worker',
} as const

export const METHOD_WORDS: Record<string, string> = {
  password: 'password',
  'mail-code': 'mailed code',
  card: 'card',
}
