/** `npm run check`: format and lint, types, the doors between rooms, migrations in step with the schema. */
import { ensureDatabaseClient } from './prepare'
import { binOf, runNode } from './run'

ensureDatabaseClient()
const steps: [name: string, words: string[]][] = [
  ['format and lint', [binOf('@biomejs/biome', 'biome'), 'check', '--error-on-warnings', '.']],
  ['types of the pages', [binOf('next'), 'typegen']],
  ['types', [binOf('typescript', 'tsc'), '--noEmit', '-p', '.']],
  ['doors between rooms', ['lib/cli/doors.mjs']],
  ['migrations', ['--import', 'tsx', 'prisma/migrate.ts', 'check']],
]
let failed = 0
for (const [name, words] of steps) {
  const began = Date.now()
  const { code, output } = await runNode(words, { quiet: true })
  console.log(`${code === 0 ? 'ok    ' : 'FAILED'} ${name} (${((Date.now() - began) / 1000).toFixed(1)} s)`)
  if (code !== 0) {
    failed++
    console.log(output)
  }
}
console.log(failed === 0 ? 'All checks passed.' : `${failed} checks failed.`)
process.exitCode = failed === 0 ? 0 : 1
