/** `npm run -s calc -- NAME`: a door to each pure core. JSON on standard input, JSON on standard output, exit 0.
 *  Bad input: exit 2 and one JSON object `{path, message}` on standard error. */
import { readdirSync } from 'node:fs'
import path from 'node:path'
import { fileURLToPath, pathToFileURL } from 'node:url'
import { z } from 'zod'
import type { Calculation } from './calculation'

const folder = path.join(path.dirname(fileURLToPath(import.meta.url)), 'calc')
const names = readdirSync(folder)
  .filter((f) => f.endsWith('.ts'))
  .map((f) => f.slice(0, -3))
  .sort()

function refuse(where: string, message: string): never {
  process.stderr.write(`${JSON.stringify({ path: where, message })}\n`)
  process.exit(2)
}

async function readInput(): Promise<string> {
  const chunks: Buffer[] = []
  for await (const chunk of process.stdin) chunks.push(chunk as Buffer)
  return Buffer.concat(chunks).toString('utf8')
}

const name = process.argv[2] ?? ''
if (!names.includes(name)) refuse('NAME', `unknown calculation "${name}"; there are: ${names.join(', ')}`)
const { default: calculation } = (await import(pathToFileURL(path.join(folder, `${name}.ts`)).href)) as {
  default: Calculation
}

let json: unknown
try {
  json = JSON.parse(await readInput())
} catch (error) {
  refuse('', `standard input is not JSON: ${(error as Error).message}`)
}
const input = calculation.input.safeParse(json)
if (!input.success) {
  const issue = input.error.issues[0]!
  refuse(z.core.toDotPath(issue.path), issue.message)
}
try {
  process.stdout.write(`${JSON.stringify(await calculation.run(input.data))}\n`)
} catch (error) {
  if (error instanceof RangeError) refuse((error as { path?: string }).path ?? '', error.message)
  throw error
}
