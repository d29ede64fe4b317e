'use server'
import {
  applyImport,
  dropImport,
  ImportId,
  ImportMapping,
  recheckImport,
  stopImport,
} from '@/lib/exchange/commands'
import { defineAction } from '@/lib/web/define-action'

const back = (input: { countyId: string; importId: string }) => ({
  goTo: `/office/${input.countyId}/imports/${input.importId}`,
})

export const recheckImportAction = defineAction(ImportMapping, async (actor, input) => {
  await recheckImport(actor, input)
  return back(input)
})

export const applyImportAction = defineAction(ImportId, async (actor, input) => {
  await applyImport(actor, input)
  return back(input)
})

export const stopImportAction = defineAction(ImportId, async (actor, input) => {
  await stopImport(actor, input)
  return back(input)
})

export const dropImportAction = defineAction(ImportId, async (actor, input) => {
  await dropImport(actor, input)
  return { goTo: `/office/${input.countyId}/imports?said=dropped` }
})
