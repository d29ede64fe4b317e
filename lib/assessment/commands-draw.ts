import type { Tx } from '@/lib/db/client'
import { AppError } from '@/lib/kernel/errors'
import { freshSeed } from '@/lib/scenarios/commands'
import type { Trainee } from '@/lib/scenarios/queries'
import { loadBank } from './content'
import { drawForm } from './core/draw'
import { exposureOf } from './queries'
import { mendsOf } from './queries-mends'
import type { Bank, Form, QuizDesign } from './schema'

/** The questions that may be drawn in a county: not those that turned out faulty there, until a new version comes. */
async function bankIn(tx: Tx, countyId: string, quizKey: string): Promise<Bank> {
  const faulty = await mendsOf(tx, countyId, quizKey)
  const bank = loadBank()
  if (faulty.length === 0) return bank
  return new Map(
    [...bank].filter(
      ([id, q]) => !faulty.some((m) => m.questionId === id && m.questionVersion === q.version),
    ),
  )
}

/** A form that keeps the overlap with the person's earlier forms under the design's limit. Where the bank is too small
 *  for that, the oldest forms are let go first: nobody is kept from trying again by a small bank.
 *  @throws AppError UNAVAILABLE where the bank can't fill the quiz at all */
export async function drawFormFor(
  tx: Tx,
  worker: Pick<Trainee, 'id' | 'countyId'>,
  design: QuizDesign,
): Promise<Form> {
  const earlier = await tx.attempt.findMany({
    where: { pollWorkerId: worker.id, kind: 'quiz', key: design.id },
    orderBy: { startedAt: 'asc' },
    select: { form: true },
  })
  const earlierForms = earlier.map((attempt) => (attempt.form as unknown as Form).questionIds)
  const seed = freshSeed()
  const bank = await bankIn(tx, worker.countyId, design.id)
  const exposure = await exposureOf(tx, design.id)
  for (let skip = 0; skip <= earlierForms.length; skip++) {
    const drawn = drawForm({ design, bank, seed, earlierForms: earlierForms.slice(skip), exposure })
    if (drawn.status === 'drawn') return drawn.form
  }
  throw new AppError('UNAVAILABLE', {
    userMessage: 'This quiz has too few questions at the moment. Please tell your election office.',
    userMessageEs: 'Este examen tiene muy pocas preguntas en este momento. Avise a su oficina electoral.',
  })
}
