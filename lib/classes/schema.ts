import { z } from 'zod'
import { CivilDateInput } from '@/lib/kernel/date-schema'
import { isWallTime, type WallTime } from '@/lib/kernel/wall-time'

/** Not asked for by any rule by itself: a day on which trainers watch hand tasks. */
export const CHECK_OFF_DAY = 'check-off-day'

const Key = z.string().regex(/^[a-z0-9-]{1,60}$/)
const Line = (what: string, most = 120) =>
  z.string().trim().min(1, `Write ${what}.`).max(most, `At most ${most} characters.`)
const Time = z.custom<WallTime>(isWallTime, 'Write a time like 18:30.')

/** A class as its form gives it: dates and times are those of the county's clocks. */
export const ClassInput = z
  .object({
    countyId: z.string().min(1).max(100),
    topic: Key,
    positionKey: z
      .union([Key, z.literal('')])
      .default('')
      .transform((key) => key || null),
    locale: z.enum(['en', 'es']),
    placeName: Line('the name of the place'),
    placeAddress: Line('the address', 200),
    on: CivilDateInput,
    from: Time,
    until: Time,
    seats: z.coerce
      .number('Write a number.')
      .int('Write a whole number.')
      .min(1, 'At least one seat.')
      .max(500, 'At most 500 seats.'),
    trainerName: Line('the trainer’s name'),
    note: z.string().trim().max(500, 'At most 500 characters.').default(''),
  })
  .refine((c) => c.from < c.until, { path: ['until'], message: 'The end must be later than the beginning.' })
export type ClassInput = z.output<typeof ClassInput>

/** What a tablet writes down in the training room, and sends when there is a connection. `key` is made on the tablet:
 *  the same record counts once. */
export const RoomRecord = z.discriminatedUnion('kind', [
  z.object({
    kind: z.literal('checkOff'),
    key: z.uuid(),
    workerId: z.uuid(),
    task: Key,
    equipmentProfile: Key,
    result: z.enum(['done', 'repeat']),
    on: CivilDateInput,
  }),
  z.object({
    kind: z.literal('signIn'),
    key: z.uuid(),
    workerId: z.uuid(),
    classId: z.uuid(),
    here: z.boolean(),
  }),
])
export type RoomRecord = z.infer<typeof RoomRecord>

export const RoomRecords = z.object({ records: z.array(RoomRecord).min(1).max(100) })

/** What became of one record. A refusal says why; sending it again can't help. */
export interface RecordOutcome {
  key: string
  status: 'recorded' | 'already' | 'refused'
  message?: string
}
