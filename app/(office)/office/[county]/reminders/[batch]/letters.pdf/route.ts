import { lettersPdf } from '@/lib/papers/letter'
import { pdfResponse } from '@/lib/papers/pdf'
import { noteLettersPrinted } from '@/lib/reminders/commands'
import { listLetters } from '@/lib/reminders/queries-letters'
import { defineRoute } from '@/lib/web/define-route'

export const GET = defineRoute<{ county: string; batch: string }>(async (actor, { county, batch }) => {
  const letters = await listLetters(actor, county, batch)
  const pdf = await lettersPdf(letters, new Date())
  await noteLettersPrinted(actor, county, batch, letters.length)
  return pdfResponse('letters.pdf', pdf)
})
