import type { Tx } from '@/lib/db/client'
import { addDays, type CivilDate } from '@/lib/kernel/dates'
import { instantAt, type WallTime } from '@/lib/kernel/wall-time'

const CLASSES = [
  {
    topic: 'lead-class',
    positionKey: 'lead',
    locale: 'en',
    inDays: 9,
    from: '18:00',
    until: '20:30',
    seats: 20,
  },
  {
    topic: 'lead-class',
    positionKey: 'lead',
    locale: 'es',
    inDays: 16,
    from: '10:00',
    until: '12:30',
    seats: 12,
  },
  {
    topic: 'check-off-day',
    positionKey: null,
    locale: 'en',
    inDays: 12,
    from: '09:00',
    until: '15:00',
    seats: 30,
  },
] as const

/** Three dates ahead, so that the demonstration has something to book. */
export async function writeDemoClasses(
  tx: Tx,
  county: { id: string; timeZone: string },
  options: { today: CivilDate; at: Date },
): Promise<void> {
  await tx.trainingClass.createMany({
    data: CLASSES.map(({ inDays, from, until, ...held }) => {
      const on = addDays(options.today, inDays)
      return {
        ...held,
        countyId: county.id,
        placeName: 'Larkmoor Grange Hall, room 2',
        placeAddress: '14 Mill Road, Larkmoor',
        startsAt: instantAt(on, from as WallTime, county.timeZone),
        endsAt: instantAt(on, until as WallTime, county.timeZone),
        trainerName: 'Terry Ashdown',
        note:
          held.locale === 'es'
            ? 'La entrada sin escalones está al sur.'
            : 'The step-free door is on the south side.',
        createdAt: options.at,
      }
    }),
  })
}
