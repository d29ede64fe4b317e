/** The reference of the benchmarks: a page of the same framework that does nothing. */
import { execFileSync, spawn } from 'node:child_process'
import { mkdirSync, mkdtempSync, rmSync, symlinkSync, writeFileSync } from 'node:fs'
import path from 'node:path'
import { nextCommand, ROOT } from '@/lib/cli/prepare'
import { freePort } from '@/lib/db/free-port'

/** Builds it in a folder of its own and serves it on loopback. */
export async function startBare(): Promise<{ url: string; stop: () => void }> {
  const parent = path.join(ROOT, 'tests/.out')
  mkdirSync(parent, { recursive: true })
  const folder = mkdtempSync(path.join(parent, 'bare-'))
  mkdirSync(path.join(folder, 'app'))
  symlinkSync(path.join(ROOT, 'node_modules'), path.join(folder, 'node_modules'))
  writeFileSync(path.join(folder, 'package.json'), '{"name":"bare","private":true,"type":"module"}')
  writeFileSync(
    path.join(folder, 'next.config.mjs'),
    `export default { turbopack: { root: ${JSON.stringify(ROOT)} }, outputFileTracingRoot: ${JSON.stringify(ROOT)} }`,
  )
  writeFileSync(
    path.join(folder, 'app/layout.js'),
    'export default function L({ children }) { return <html lang="en"><body>{children}</body></html> }',
  )
  writeFileSync(
    path.join(folder, 'app/page.js'),
    "export const dynamic = 'force-dynamic'\nexport default function P() { return <p>{Date.now()}</p> }",
  )
  const env = { ...process.env, NODE_ENV: 'production' as const, NEXT_TELEMETRY_DISABLED: '1' }
  execFileSync(process.execPath, [nextCommand(), 'build'], { cwd: folder, stdio: 'ignore', env })
  const port = await freePort(4390)
  const child = spawn(process.execPath, [nextCommand(), 'start', '-p', String(port), '-H', '127.0.0.1'], {
    cwd: folder,
    stdio: 'ignore',
    env,
  })
  const url = `http://127.0.0.1:${port}`
  for (let i = 0; i < 100; i++) {
    if ((await fetch(url).catch(() => null))?.ok) break
    await new Promise((resolve) => setTimeout(resolve, 200))
  }
  return {
    url,
    stop: () => {
      child.kill('SIGTERM')
      rmSync(folder, { recursive: true, force: true })
    },
  }
}
