/** `npm run bench -- NAME [words]`: runs tests/bench/NAME.ts. */
import { readdirSync } from 'node:fs'
import path from 'node:path'
import { ensureDatabaseClient, ROOT } from './prepare'
import { runNode } from './run'

const names = readdirSync(path.join(ROOT, 'tests/bench'))
  .filter((file) => file.endsWith('.ts'))
  .map((file) => file.slice(0, -3))
const [name = '', ...words] = process.argv.slice(2)
if (!names.includes(name)) {
  console.error(`Use: npm run bench -- NAME   (there are: ${names.join(', ')})`)
  process.exitCode = 2
} else {
  ensureDatabaseClient()
  const { code } = await runNode([
    '--import',
    'tsx',
    '--expose-gc',
    path.join('tests/bench', `${name}.ts`),
    ...words,
  ])
  process.exitCode = code
}
