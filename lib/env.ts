import path from 'node:path'
import { z } from 'zod'
import { startClockAt } from '@/lib/kernel/clock'

/** The only reader of `process.env`. Parsed once, on first use, so that a build needs no settings. */
const Environment = z.object({
  DATABASE_URL: z.url({ protocol: /^postgres(ql)?$/, error: 'must be a postgresql:// address' }).optional(),
  DATA_DIR: z.string().min(1).default('.data'),
  HOST: z.string().min(1).default('127.0.0.1'),
  PORT: z.coerce.number().int().min(0).max(65535).default(3000),
  PUBLIC_URL: z.url().optional(),
  SECRET: z.string().min(32, 'must have at least 32 characters').optional(),
  SMTP_URL: z.url({ protocol: /^smtps?$/, error: 'must be an smtp:// or smtps:// address' }).optional(),
  MAIL_FROM: z.string().default('Election office <no-reply@localhost>'),
  DEMO: z.enum(['yes', 'no']).default('yes'),
  DEMO_ON: z.string().optional(),
  ROSTER_WORK: z.coerce.number().min(0).max(10).default(1),
  POOL_SIZE: z.coerce.number().int().min(1).max(200).default(12),
  /** Tests only: the instant that each process's clock starts from. */
  CLOCK_START: z.iso.datetime({ offset: true }).optional(),
  NODE_ENV: z.string().default('development'),
})

export type Env = z.infer<typeof Environment>

let parsed: Env | undefined

/** The settings. @throws Error that names each wrong variable and what it must be. */
export function env(): Env {
  if (parsed) return parsed
  const result = Environment.safeParse(
    Object.fromEntries(Object.entries(process.env).filter(([, v]) => v !== '')),
  )
  if (!result.success) {
    const lines = result.error.issues.map((issue) => `  ${issue.path.join('.')} ${issue.message}`)
    throw new Error(`The settings can't be used:\n${lines.join('\n')}\nSee .env.example.`)
  }
  parsed = result.data
  if (parsed.CLOCK_START) startClockAt(new Date(parsed.CLOCK_START))
  return parsed
}

/** For the start command and tests, which set variables before the application reads them. */
export function setEnv(values: Partial<Record<keyof Env, string>>): void {
  Object.assign(process.env, values)
  parsed = undefined
}

export const dataFolder = (): string => path.resolve(env().DATA_DIR)

/** The environment for a process that we start. */
export const childEnvironment = (extra: Record<string, string>): NodeJS.ProcessEnv => ({
  ...process.env,
  ...extra,
})
