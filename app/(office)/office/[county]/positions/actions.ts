'use server'
import {
  AdoptPositionsInput,
  adoptPositions,
  PositionInput,
  savePosition,
} from '@/lib/certification/commands-positions'
import { defineAction } from '@/lib/web/define-action'

export const adoptPositionsAction = defineAction(AdoptPositionsInput, async (actor, input) => {
  const made = await adoptPositions(actor, input)
  return { goTo: `/office/${input.countyId}/positions?said=adopted&made=${made}` }
})

export const savePositionAction = defineAction(PositionInput, async (actor, input) => {
  await savePosition(actor, input)
  return { goTo: `/office/${input.countyId}/positions?said=saved` }
})
