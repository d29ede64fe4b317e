import { ImportUpload, receiveImport } from '@/lib/exchange/commands'
import { AppError } from '@/lib/kernel/errors'
import { defineRoute } from '@/lib/web/define-route'
import { readUpload } from '@/lib/web/multipart'

/** A file comes in by a plain form. A route and not an action: an action would hold the file in memory. */
export const POST = defineRoute<{ county: string }>(async (actor, { county }, request) => {
  const to = (path: string) =>
    new Response(null, { status: 303, headers: { Location: `/office/${county}/imports${path}` } })
  try {
    const { importId } = await readUpload(request, (fields, file) =>
      receiveImport(actor, ImportUpload.parse({ ...fields, countyId: county }), file.name, file.pieces),
    )
    return to(`/${importId}`)
  } catch (error) {
    // What a form without JavaScript gets must be a page.
    if (error instanceof AppError && error.code === 'INVALID_INPUT')
      return to(`?refused=${refusalKey(error)}`)
    throw error
  }
})

/** The page says it in its own words, so that no address can put words into its mouth. */
function refusalKey(error: AppError): string {
  const keys: [RegExp, string][] = [
    [/larger than/, 'large'],
    [/empty/, 'empty'],
    [/XML feed/, 'feed'],
    [/\.xls|PDF/, 'format'],
  ]
  return keys.find(([words]) => words.test(error.userMessage))?.[1] ?? 'broken'
}
