import { defineConfig } from 'prisma/config'

// generate, validate and format need no native engine; naming any executable stops its download.
process.env.PRISMA_SCHEMA_ENGINE_BINARY ??= process.execPath

export default defineConfig({
  schema: 'prisma/schema.prisma',
  migrations: { path: 'prisma/migrations' },
})
