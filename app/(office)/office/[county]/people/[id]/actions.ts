'use server'
import { changeOffer, OfferInput } from '@/lib/people/commands'
import {
  CorrectionInput,
  correctPerson,
  ExclusionInput,
  excludePerson,
  NoteInput,
  PayInput,
  recordPay,
  TakeBackInput,
  takeBackExclusion,
  takeBackPay,
  writeNote,
} from '@/lib/people/commands-office'
import { PairInput, pairPeople, takeBackPair } from '@/lib/people/commands-pairs'
import { AnswerCorrectionInput, answerCorrection } from '@/lib/record/commands-corrections'
import { defineAction } from '@/lib/web/define-action'

const saved = (of: { countyId: string; workerId: string }) => ({
  goTo: `/office/${of.countyId}/people/${of.workerId}?said=saved`,
})

export const changeOfferAction = defineAction(OfferInput, async (actor, input) => {
  await changeOffer(actor, input)
  return saved(input)
})

export const correctPersonAction = defineAction(CorrectionInput, async (actor, input) => {
  const { oldPoint } = await correctPerson(actor, input)
  return oldPoint
    ? { goTo: `/office/${input.countyId}/people/${input.workerId}?said=oldPoint` }
    : saved(input)
})

export const writeNoteAction = defineAction(NoteInput, async (actor, input) => {
  await writeNote(actor, input)
  return saved(input)
})

export const excludeAction = defineAction(ExclusionInput, async (actor, input) => {
  await excludePerson(actor, input)
  return saved(input)
})

export const takeBackExclusionAction = defineAction(TakeBackInput, async (actor, input) => {
  await takeBackExclusion(actor, input)
  return saved(input)
})

export const pairAction = defineAction(PairInput, async (actor, input) => {
  await pairPeople(actor, input)
  return saved(input)
})

export const takeBackPairAction = defineAction(TakeBackInput, async (actor, input) => {
  await takeBackPair(actor, input)
  return saved(input)
})

export const recordPayAction = defineAction(PayInput, async (actor, input) => {
  await recordPay(actor, input)
  return saved(input)
})

export const takeBackPayAction = defineAction(TakeBackInput, async (actor, input) => {
  await takeBackPay(actor, input)
  return saved(input)
})

export const answerCorrectionAction = defineAction(AnswerCorrectionInput, async (actor, input) => {
  const { workerId, written } = await answerCorrection(actor, input)
  return {
    goTo: `/office/${input.countyId}/people/${workerId}?said=${written ? 'answered' : 'answeredUnwritten'}`,
  }
})
