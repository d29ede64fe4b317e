/** `npm test`: checks, content, and every test; `npm run test:full` adds the long matrices. Ends with one plain line
 *  `N passed, N failed, N skipped`. Says which tests it left out and why. */
import { execFileSync } from 'node:child_process'
import { existsSync, mkdirSync, readFileSync } from 'node:fs'
import path from 'node:path'
import { childEnvironment } from '@/lib/env'
import { ensureBuild, ensureDatabaseClient, ROOT } from './prepare'
import { binOf, runNode } from './run'

const full = process.argv[2] === 'full'
const chromiumAt = ['/usr/bin/chromium', '/usr/bin/chromium-browser', '/usr/bin/google-chrome'].find(
  existsSync,
)

/** A Debian package that a test needs, installed where we may. */
function install(name: string): boolean {
  if (process.getuid?.() !== 0 || !existsSync('/usr/bin/apt-get')) return false
  console.log(`Installing Debian’s ${name} for the tests …`)
  try {
    execFileSync('apt-get', ['update', '-qq'], { stdio: 'ignore' })
    execFileSync('apt-get', ['install', '-y', '-qq', name], {
      stdio: 'ignore',
      env: childEnvironment({ DEBIAN_FRONTEND: 'noninteractive' }),
    })
    return true
  } catch {
    return false
  }
}

function ensureChromium(): string | null {
  if (chromiumAt) return chromiumAt
  install('chromium')
  return existsSync('/usr/bin/chromium') ? '/usr/bin/chromium' : null
}

interface Report {
  numPassedTests: number
  numFailedTests: number
  numPendingTests: number
  numTodoTests: number
  success: boolean
}

let passed = 0
let failed = 0
let skipped = 0
const step = async (name: string, words: string[]) => {
  const { code } = await runNode(words)
  if (code === 0) passed++
  else {
    failed++
    console.log(`FAILED: ${name}`)
  }
}

ensureDatabaseClient()
await step('npm run check', ['--import', 'tsx', 'lib/cli/check.ts'])
await step('npm run check:content', ['--import', 'tsx', 'lib/cli/check-content.ts'])

if (!existsSync('/usr/lib/postgresql/15/bin/initdb') && !install('postgresql-15'))
  console.log(
    'LEFT OUT: the tests on an outside server (tests/db/outside-server). Debian’s postgresql-15 is missing and can only be installed by root on Debian.',
  )
if (!existsSync('/usr/bin/pdftoppm') && !install('poppler-utils'))
  console.log(
    'LEFT OUT: the tests that read printed papers back (tests/core/certification/paper). Debian’s poppler-utils is missing and can only be installed by root on Debian.',
  )
const browser = ensureChromium()
const projects = ['core', 'content', 'db']
if (browser) {
  ensureBuild(console.log)
  projects.push('e2e')
} else
  console.log(
    'LEFT OUT: the browser tests (tests/e2e). Chromium is missing and can only be installed by root on Debian: apt-get install chromium.',
  )

const outFolder = path.join(ROOT, 'tests/.out')
mkdirSync(outFolder, { recursive: true })
for (const project of projects) {
  const file = path.join(outFolder, `${project}.json`)
  const { code } = await runNode(
    [
      binOf('vitest'),
      'run',
      '--project',
      project,
      '--passWithNoTests',
      '--reporter=default',
      '--reporter=json',
      `--outputFile.json=${file}`,
    ],
    { extra: { TEST_FULL: full ? '1' : '', CHROMIUM: browser ?? '' } },
  )
  const report = existsSync(file) ? (JSON.parse(readFileSync(file, 'utf8')) as Report) : null
  passed += report?.numPassedTests ?? 0
  failed += report?.numFailedTests ?? 0
  skipped += (report?.numPendingTests ?? 0) + (report?.numTodoTests ?? 0)
  // A file that can't be loaded, or an error outside a test, fails the run without failing a test.
  if (code !== 0 && (report === null || report.numFailedTests === 0)) failed++
}

console.log(`\n${passed} passed, ${failed} failed${skipped > 0 ? `, ${skipped} skipped` : ''}`)
process.exitCode = failed === 0 ? 0 : 1
