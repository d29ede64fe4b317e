import { beforeAll, describe, expect, it } from 'vitest'
import { db } from '@/lib/db/client'
import { getMyPathOrThrow } from '@/lib/path/queries'
import { setLessonsOfPosition } from '@/lib/scenarios/commands-lesson-plan'
import { getLessonPlan } from '@/lib/scenarios/queries-lesson-plan'
import { useDatabase } from '@/tests/support/database'
import { makeActor, makeCounties, makeWorker } from './people'

useDatabase()
beforeAll(makeCounties)

describe('which lessons belong to a position', () => {
  it('is the shipped list, then the state office’s, then the county’s, and shows on the person’s path', async () => {
    for (const countyId of ['larkmoor', 'fennick'])
      await db().position.create({
        data: {
          countyId,
          key: 'check-in',
          nameEn: 'Check-in',
          nameEs: 'Registro',
          rank: 1,
          certificateKey: 'check-in',
        },
      })
    const worker = await makeWorker()
    await db().pollWorker.update({
      where: { id: worker.pollWorkerId! },
      data: { wantsPositionKey: 'check-in' },
    })
    const state = await makeActor('administrator', null)
    const county = await makeActor('administrator', 'larkmoor')
    const shown = async () => (await getMyPathOrThrow(worker, 'en')).lessons
    const originOf = async (countyId: string) => (await getLessonPlan(state, countyId)).positions[0]?.origin

    expect((await shown())[0]).toBe('right-blank-ballot')
    expect(await originOf('larkmoor')).toBe('shipped')

    // Chosen in any order, kept in the lessons' own.
    const chosen = { position: 'check-in', lessons: ['emergency-in-the-room', 'wrong-style'] }
    await setLessonsOfPosition(state, null, chosen)
    expect(await shown()).toEqual(['wrong-style', 'emergency-in-the-room'])
    expect(await originOf('fennick')).toBe('state')

    await setLessonsOfPosition(county, 'larkmoor', { position: 'check-in', lessons: ['card-returned'] })
    expect(await shown()).toEqual(['card-returned'])
    expect(await originOf('fennick')).toBe('state')

    await setLessonsOfPosition(county, 'larkmoor', { position: 'check-in', lessons: null })
    expect(await shown()).toEqual(['wrong-style', 'emergency-in-the-room'])
    const kept = await db().auditRecord.findMany({ where: { chain: 'larkmoor' } })
    expect(kept.map((r) => r.event)).toEqual(['county.settings-changed', 'county.settings-changed'])
  })

  it('refuses a lesson or a position that does not exist, and writes nothing', async () => {
    const county = await makeActor('administrator', 'fennick')
    await db().position.create({
      data: {
        countyId: 'fennick',
        key: 'lead',
        nameEn: 'Lead',
        nameEs: 'Líder',
        rank: 1,
        certificateKey: 'lead',
      },
    })
    for (const [position, lesson] of [
      ['lead', 'no-such-lesson'],
      ['greeter', 'card-returned'],
    ] as const)
      await expect(
        setLessonsOfPosition(county, 'fennick', { position, lessons: [lesson] }),
      ).rejects.toMatchObject({ code: 'INVALID_INPUT' })
    expect((await db().county.findUniqueOrThrow({ where: { id: 'fennick' } })).settings).toEqual({})
  })

  it('keeps the office’s other settings, also when two positions are saved at once', async () => {
    const county = await makeActor('administrator', 'larkmoor')
    await db().county.update({ where: { id: 'larkmoor' }, data: { settings: { quiet: true } } })
    for (const key of ['a', 'b'])
      await db().position.create({
        data: { countyId: 'larkmoor', key, nameEn: key, nameEs: key, rank: 1, certificateKey: key },
      })
    await Promise.all(
      ['a', 'b'].map((position) =>
        setLessonsOfPosition(county, 'larkmoor', { position, lessons: ['card-returned'] }),
      ),
    )
    expect((await db().county.findUniqueOrThrow({ where: { id: 'larkmoor' } })).settings).toEqual({
      quiet: true,
      lessonsOf: { a: ['card-returned'], b: ['card-returned'] },
    })
  })
})
