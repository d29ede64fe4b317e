import { spawn } from 'node:child_process'
import { createRequire } from 'node:module'
import path from 'node:path'
import { childEnvironment } from '@/lib/env'
import { ROOT } from './prepare'

const require = createRequire(import.meta.url)

/** Runs a Node command of the project to its end, its output passed on and gathered. */
export function runNode(
  words: string[],
  options: { extra?: Record<string, string>; quiet?: boolean } = {},
): Promise<{ code: number; output: string }> {
  return new Promise((resolve) => {
    const child = spawn(process.execPath, words, {
      cwd: ROOT,
      stdio: ['ignore', 'pipe', 'pipe'],
      env: childEnvironment(options.extra ?? {}),
    })
    let output = ''
    for (const stream of [child.stdout, child.stderr])
      stream.on('data', (chunk: Buffer) => {
        output += chunk.toString()
        if (!options.quiet) process.stdout.write(chunk)
      })
    child.on('close', (code) => resolve({ code: code ?? 1, output }))
  })
}

/** The file behind a package's command. */
export function binOf(packageName: string, command = packageName): string {
  const file = require.resolve(`${packageName}/package.json`)
  const { bin } = require(file) as { bin: string | Record<string, string> }
  // By path: a package need not export its own command.
  return path.join(path.dirname(file), (typeof bin === 'string' ? bin : bin[command]) as string)
}
