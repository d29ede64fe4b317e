'use server'
import { MoveInput, movePlace } from '@/lib/elections/commands-move'
import {
  addOpening,
  EquipmentInput,
  HoursInput,
  OpeningInput,
  PlaceInput,
  PrecinctInput,
  RemoveOpeningInput,
  recordSurvey,
  removeOpening,
  SurveyInput,
  savePlace,
  servePrecinct,
  setEquipment,
  setHours,
} from '@/lib/places/commands'
import { defineAction } from '@/lib/web/define-action'

const back = (of: { countyId: string; placeId: string }, said = 'saved') => ({
  goTo: `/office/${of.countyId}/places/${of.placeId}?said=${said}`,
})

export const savePlaceAction = defineAction(PlaceInput, async (actor, input) => {
  const placeId = await savePlace(actor, input)
  return back({ ...input, placeId }, input.placeId ? 'saved' : 'made')
})

export const addOpeningAction = defineAction(OpeningInput, async (actor, input) => {
  await addOpening(actor, input)
  return back(input)
})

export const setHoursAction = defineAction(HoursInput, async (actor, input) => {
  const places = await setHours(actor, input)
  return { goTo: `/office/${input.countyId}/places?said=hours&places=${places}#hours` }
})

export const removeOpeningAction = defineAction(RemoveOpeningInput, async (actor, input) => {
  await removeOpening(actor, input)
  return back(input)
})

export const setEquipmentAction = defineAction(EquipmentInput, async (actor, input) => {
  await setEquipment(actor, input)
  return back(input)
})

export const servePrecinctAction = defineAction(PrecinctInput, async (actor, input) => {
  return { message: await servePrecinct(actor, input) }
})

export const recordSurveyAction = defineAction(SurveyInput, async (actor, input) => {
  await recordSurvey(actor, input)
  return back(input)
})

export const movePlaceAction = defineAction(MoveInput, async (actor, input) => {
  const told = await movePlace(actor, input)
  return {
    goTo: `/office/${input.countyId}/places/${input.placeId}?said=moved&told=${told}`,
  }
})
