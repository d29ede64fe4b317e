import type { TestProject } from 'vitest/node'
import { startProduct } from './product'

declare module 'vitest' {
  interface ProvidedContext {
    appUrl: string
    appFolder: string
    appDatabaseUrl: string
  }
}

/** One running product for all browser tests; each test signs in as people of its own. */
export default async function setup(project: TestProject): Promise<() => Promise<void>> {
  const product = await startProduct()
  project.provide('appUrl', product.url)
  project.provide('appFolder', product.folder)
  project.provide('appDatabaseUrl', product.databaseUrl)
  return () => product.stop()
}
