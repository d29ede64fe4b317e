import { Readable } from 'node:stream'
import { Busboy, type BusboyInstance } from '@fastify/busboy'
import { AppError } from '@/lib/kernel/errors'

export interface UploadedFile {
  name: string
  pieces: AsyncIterable<Uint8Array>
}

/** Reads a form with one file as it arrives: the fields that stand before the file, then the file piece by piece;
 *  nothing is held in memory. `work` must read the file to its end, or throw. @throws AppError INVALID_INPUT where the
 *  form has no file or breaks off */
export function readUpload<T>(
  request: Request,
  work: (fields: Record<string, string>, file: UploadedFile) => Promise<T>,
): Promise<T> {
  const unreadable = () =>
    new AppError('INVALID_INPUT', { userMessage: 'The file did not arrive whole. Choose it again.' })
  return new Promise((resolve, reject) => {
    const type = request.headers.get('content-type') ?? ''
    if (!request.body || !type.startsWith('multipart/form-data')) return reject(unreadable())
    const fields: Record<string, string> = {}
    let busboy: BusboyInstance
    try {
      busboy = new Busboy({
        headers: { 'content-type': type },
        limits: { fields: 20, fieldSize: 2000, files: 1, parts: 25, headerPairs: 50 },
      })
    } catch {
      return reject(unreadable())
    }
    const source = Readable.fromWeb(request.body as Parameters<typeof Readable.fromWeb>[0])
    let found = false
    const stop = (error: unknown) => {
      source.unpipe(busboy)
      // The rest of the body is let go; an answer can't be sent before it has been taken.
      source.resume()
      reject(error)
    }
    busboy.on('field', (name, value) => {
      fields[name] = value
    })
    busboy.on('file', (_field, stream, name) => {
      found = true
      work(fields, { name: name ?? '', pieces: stream as AsyncIterable<Uint8Array> }).then(resolve, stop)
    })
    busboy.on('finish', () => found || reject(unreadable()))
    busboy.on('error', () => stop(unreadable()))
    source.on('error', () => {
      busboy.destroy()
      reject(unreadable())
    })
    source.pipe(busboy)
  })
}
