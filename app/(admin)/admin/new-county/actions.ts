'use server'
import { makeCounty, NewCountyInput } from '@/lib/auth/counties'
import { defineAction } from '@/lib/web/define-action'

export const makeCountyAction = defineAction(NewCountyInput, async (actor, input) => {
  const county = await makeCounty(actor, input)
  return { goTo: `/admin/${county}/accounts?said=made` }
})
