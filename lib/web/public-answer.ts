import { sha256Hex } from '@/lib/kernel/hash'

/** An answer that anybody may fetch and keep for a while, from pages of other sites too: keys, status lists. Asked again
 *  with the tag it is not sent twice. Null: there is nothing here. */
export function publicAnswer(
  request: Request,
  text: string | null,
  { type, maxAgeSeconds }: { type: string; maxAgeSeconds: number },
): Response {
  const headers = new Headers({ 'Access-Control-Allow-Origin': '*' })
  if (text === null) {
    headers.set('Cache-Control', 'no-store')
    return Response.json({ message: 'There is nothing at this address.' }, { status: 404, headers })
  }
  const tag = `"${sha256Hex(text).slice(0, 32)}"`
  headers.set('ETag', tag)
  headers.set('Cache-Control', `public, max-age=${maxAgeSeconds}, must-revalidate`)
  if (request.headers.get('if-none-match') === tag) return new Response(null, { status: 304, headers })
  headers.set('Content-Type', type)
  return new Response(text, { headers })
}
