import type { Tx } from '@/lib/db/client'
import { type CivilDate, civilDateAt } from '@/lib/kernel/dates'
import type { QuizDesign } from './schema'

export interface AdoptedMark {
  panelId: string
  cutFraction: number
  adoptedOn: CivilDate
}

/** Quiz key → the pass mark that the county adopted last; a quiz without one keeps the mark that it came with. */
export async function passMarksOf(tx: Tx, countyId: string): Promise<Map<string, AdoptedMark>> {
  const [county, panels] = [
    await tx.county.findUniqueOrThrow({ where: { id: countyId }, select: { timeZone: true } }),
    await tx.panel.findMany({
      where: { countyId, adoptedAt: { not: null } },
      orderBy: { adoptedAt: 'asc' },
      select: { id: true, quizKey: true, cutFraction: true, adoptedAt: true },
    }),
  ]
  return new Map(
    panels.map((p) => [
      p.quizKey,
      {
        panelId: p.id,
        cutFraction: p.cutFraction!,
        adoptedOn: civilDateAt(p.adoptedAt!, county.timeZone),
      },
    ]),
  )
}

/** The design as it counts in this county: with the pass mark that the county adopted. */
export async function designIn(tx: Tx, countyId: string, design: QuizDesign): Promise<QuizDesign> {
  const mark = (await passMarksOf(tx, countyId)).get(design.id)
  return mark ? { ...design, passing: { ...design.passing, cutFraction: mark.cutFraction } } : design
}
