import path from 'node:path'
import { defineConfig } from 'vitest/config'

const alias = {
  '@': path.resolve(import.meta.dirname),
  'server-only': path.resolve(import.meta.dirname, 'tests/support/nothing.ts'),
}
const project = (name: string, extra: object = {}) => ({
  resolve: { alias },
  test: { name, include: [`tests/${name}/**/*.test.{ts,tsx}`], environment: 'node', ...extra },
})

export default defineConfig({
  test: {
    // One for each core; vitest leaves one core out.
    maxWorkers: 2,
    projects: [
      project('core', { testTimeout: 60_000 }),
      project('content', { testTimeout: 60_000 }),
      project('db', { globalSetup: ['tests/support/cluster.ts'], testTimeout: 60_000, hookTimeout: 120_000 }),
      project('e2e', {
        globalSetup: ['tests/support/app.ts'],
        testTimeout: 180_000,
        hookTimeout: 240_000,
        fileParallelism: false,
        // Of the pages that are looked at beside each other: the browser has one core, the product the other.
        maxConcurrency: 3,
      }),
    ],
  },
})
