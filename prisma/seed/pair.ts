import type { Tx } from '@/lib/db/client'
import { distanceKm } from '@/lib/places/core/distance'
import { DEMO_CARDS, STAFF_SIGN_INS } from './demo'
import type { CountyRows, PollWorkerRow } from './rows'

const homeOf = (person: PollWorkerRow): [number, number] => [person.homeLat ?? 0, person.homeLon ?? 0]

/** The demonstration's certified poll worker comes in the car of the nearest one who does the same work. */
export async function writeDemoPair(
  tx: Tx,
  { county, elections, pollWorkers, spans, accounts }: CountyRows,
  at: Date,
): Promise<void> {
  const card = DEMO_CARDS.find(({ plan }) => plan.standing === 'current')!
  const clerk = STAFF_SIGN_INS.find((s) => s.countyId === county.id && s.access === 'countyStaff')!
  const one = pollWorkers.find((p) => `${p.givenName} ${p.familyName}` === card.name)!
  const { heldOn } = elections[1]
  const certified = new Set(
    spans
      .filter((s) => s.certificateKey === card.plan.track && s.validFrom <= heldOn)
      .filter((s) => s.validUntil === null || s.validUntil > heldOn)
      .map((s) => s.pollWorkerId),
  )
  const [other] = pollWorkers
    .filter((p) => p !== one && certified.has(p.id) && p.offersShift === 'full')
    .filter((p) => !p.unavailableOn.includes(heldOn))
    .sort((a, b) => distanceKm(homeOf(one), homeOf(a)) - distanceKm(homeOf(one), homeOf(b)))
  if (!other) return
  await tx.personPair.create({
    data: {
      countyId: county.id,
      pollWorkerId: one.id,
      otherId: other.id,
      kind: 'together',
      note: 'They come in one car.',
      recordedBy: accounts.find((account) => account.email === clerk.email)!.id,
      recordedAt: at,
    },
  })
}
