/** The lessons and equipment profiles that ship in content/: read once, parsed by the schemas, kept. Server only. */
import { readdirSync, readFileSync } from 'node:fs'
import path from 'node:path'
import { z } from 'zod'
import { canonicalJson, sha256Hex } from '@/lib/kernel/hash'
import { profileFits } from './core/fit'
import { EquipmentProfile, Scenario } from './schema'

/** Where content/ is: beside package.json, from where every command runs. */
export const contentFolder = (name: string): string => path.join(process.cwd(), 'content', name)

/** A file that its schema refuses. The message names the file, the path inside and the reason. */
export class ContentError extends Error {
  constructor(
    readonly file: string,
    readonly issues: { path: string; message: string }[],
  ) {
    super(`${file}: ${issues.map((i) => `${i.path || '(whole file)'}: ${i.message}`).join('; ')}`)
    this.name = 'ContentError'
  }
}

/** Parses one content file. @throws ContentError where it isn't JSON, breaks the schema or has another id than its
 *  file name says. */
export function readContentFile<T extends { id: string }>(file: string, schema: z.ZodType<T>): T {
  const shown = path.relative(process.cwd(), file)
  let json: unknown
  try {
    json = JSON.parse(readFileSync(file, 'utf8'))
  } catch (error) {
    throw new ContentError(shown, [{ path: '', message: `not JSON: ${(error as Error).message}` }])
  }
  const parsed = schema.safeParse(json)
  if (!parsed.success)
    throw new ContentError(
      shown,
      parsed.error.issues.map((i) => ({ path: z.core.toDotPath(i.path), message: i.message })),
    )
  const name = path.basename(file, '.json')
  if (parsed.data.id !== name)
    throw new ContentError(shown, [{ path: 'id', message: `must be "${name}", like the file's name` }])
  return parsed.data
}

export const contentFiles = (folder: string): string[] =>
  readdirSync(contentFolder(folder))
    .filter((f) => f.endsWith('.json'))
    .sort()
    .map((f) => path.join(contentFolder(folder), f))

let profiles: ReadonlyMap<string, EquipmentProfile> | undefined
let scenarios: ReadonlyMap<string, { scenario: Scenario; hash: string }> | undefined

const loadProfiles = () => {
  profiles ??= new Map(
    contentFiles('equipment')
      .map((f) => readContentFile(f, EquipmentProfile))
      .map((p) => [p.id, p]),
  )
  return profiles
}

const loadScenarios = () => {
  scenarios ??= new Map(
    contentFiles('scenarios')
      .map((f) => readContentFile(f, Scenario))
      .sort((a, b) => a.number - b.number || (a.id < b.id ? -1 : 1))
      .map((scenario) => [scenario.id, { scenario, hash: scenarioHash(scenario) }]),
  )
  return scenarios
}

/** The version that an attempt ran on: SHA-256 of the scenario's canonical JSON. */
export const scenarioHash = (scenario: Scenario): string => sha256Hex(canonicalJson(scenario))

/** Every shipped equipment profile, by id. */
export const listEquipmentProfiles = (): EquipmentProfile[] => [...loadProfiles().values()]
export const findEquipmentProfile = (id: string): EquipmentProfile | null => loadProfiles().get(id) ?? null

/** Every shipped lesson, in the order of its number. */
export const listScenarios = (): Scenario[] => [...loadScenarios().values()].map((s) => s.scenario)
export const findScenario = (id: string): { scenario: Scenario; hash: string } | null =>
  loadScenarios().get(id) ?? null

/** The shipped profiles on which a lesson makes sense. */
export const profilesFor = (scenario: Scenario): EquipmentProfile[] =>
  listEquipmentProfiles().filter((p) => profileFits(scenario.needs, p))

/** `content/lesson-plan.json`: the numbers of the lessons that belong to a position until an office chooses its own. */
export const ShippedLessonPlan = z.strictObject({
  notice: z.string(),
  positions: z.record(z.string().regex(/^[a-z0-9-]{1,60}$/), z.array(z.int().min(1))),
})

let shippedPlan: Readonly<Record<string, readonly string[]>> | undefined

/** Lesson ids by position key, as shipped. Numbers of lessons that don't exist are left out. */
export function shippedLessonPlan(): Readonly<Record<string, readonly string[]>> {
  if (shippedPlan) return shippedPlan
  const file = ShippedLessonPlan.parse(JSON.parse(readFileSync(contentFolder('lesson-plan.json'), 'utf8')))
  const idOf = new Map(listScenarios().map((scenario) => [scenario.number, scenario.id]))
  shippedPlan = Object.fromEntries(
    Object.entries(file.positions).map(([key, numbers]) => [
      key,
      numbers.flatMap((number) => idOf.get(number) ?? []),
    ]),
  )
  return shippedPlan
}
