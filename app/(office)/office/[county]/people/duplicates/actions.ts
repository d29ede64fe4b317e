'use server'
import {
  askForPairs,
  MergeInput,
  mergePeople,
  NotTheSameInput,
  SearchInput,
  sayNotTheSame,
  UndoMergeInput,
  undoMerge,
} from '@/lib/people/commands-merge'
import { defineAction } from '@/lib/web/define-action'

const list = (countyId: string, said: string) => ({
  goTo: `/office/${encodeURIComponent(countyId)}/people/duplicates?said=${said}`,
})

export const mergeAction = defineAction(MergeInput, async (actor, input) => {
  await mergePeople(actor, input)
  return list(input.countyId, 'merged')
})

export const undoMergeAction = defineAction(UndoMergeInput, async (actor, input) => {
  await undoMerge(actor, input)
  return list(input.countyId, 'undone')
})

export const notTheSameAction = defineAction(NotTheSameInput, async (actor, input) => {
  await sayNotTheSame(actor, input)
  return list(input.countyId, 'apart')
})

export const lookForPairsAction = defineAction(SearchInput, async (actor, input) => {
  await askForPairs(actor, input)
  return list(input.countyId, 'looking')
})
