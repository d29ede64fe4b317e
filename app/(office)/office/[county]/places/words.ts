export const PLACE_KINDS: Record<string, string> = {
  pollingPlace: 'polling place',
  voteCentre: 'vote center',
  earlyVotingSite: 'early-voting site',
}
export const SHAPE_OF = { pollingPlace: 'place', voteCentre: 'centre', earlyVotingSite: 'early' } as const
export const shapeOf = (kind: string) => SHAPE_OF[kind as keyof typeof SHAPE_OF] ?? 'place'

export const DEVICES: Record<string, string> = {
  checkIn: 'check-in stations',
  ballotStation: 'ballot stations',
  accessibleStation: 'accessible ballot stations',
  scanner: 'scanners',
  other: 'other',
}

export const SAID: Record<string, string> = {
  saved: 'Saved.',
  made: 'The place is made. Add its precincts, hours and equipment.',
  moved: 'Moved. ',
}
