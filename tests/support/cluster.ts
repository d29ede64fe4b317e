/** Starts the embedded server (or takes TEST_DATABASE_URL, an outside one), migrates a template once; each test file
 *  copies it (about 70 ms). */
import { randomUUID } from 'node:crypto'
import { rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import path from 'node:path'
import { runMigrations } from 'graphile-worker'
import pg from 'pg'
import type { TestProject } from 'vitest/node'
import { type Cluster, startCluster } from '@/lib/db/embedded'
import { deploy } from '@/prisma/migrate'

declare module 'vitest' {
  interface ProvidedContext {
    adminUrl: string
    templateName: string
  }
}

export default async function setup(project: TestProject): Promise<() => Promise<void>> {
  const outside = process.env.TEST_DATABASE_URL
  const folder = path.join(tmpdir(), `readiness-test-${randomUUID()}`)
  let cluster: Cluster | undefined
  let adminUrl = outside ?? ''
  if (!outside) {
    // Tests may lose their database at any moment: durability only costs time here.
    const flags = ['-c fsync=off', '-c synchronous_commit=off', '-c full_page_writes=off']
    cluster = await startCluster(folder, { port: 0, flags })
    adminUrl = cluster.adminUrl
  }
  const templateName = `template_${randomUUID().replaceAll('-', '')}`
  const admin = new pg.Client(adminUrl)
  await admin.connect()
  await admin.query(`CREATE DATABASE ${templateName}`)
  const templateUrl = Object.assign(new URL(adminUrl), { pathname: `/${templateName}` }).href
  await deploy(templateUrl)
  await runMigrations({ connectionString: templateUrl })
  project.provide('adminUrl', adminUrl)
  project.provide('templateName', templateName)
  return async () => {
    if (outside)
      await admin.query(`DROP DATABASE IF EXISTS ${templateName} WITH (FORCE)`).catch(() => undefined)
    await admin.end()
    if (cluster) {
      await cluster.stop()
      rmSync(folder, { recursive: true, force: true })
    }
  }
}
