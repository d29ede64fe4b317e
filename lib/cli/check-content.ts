/** `npm run check:content [-- <lesson> …] [-- --explain <lesson> …]`: every file in content/ through its schema and its
 *  checker. Exit 1 where there is an error; warnings are printed and pass. */
import { existsSync, readFileSync } from 'node:fs'
import path from 'node:path'
import { pathToFileURL } from 'node:url'
import {
  ContentError,
  contentFiles,
  contentFolder,
  profilesFor,
  readContentFile,
  ShippedLessonPlan,
} from '@/lib/scenarios/content'
import { checkScenario, type Finding } from '@/lib/scenarios/core/checker'
import { lessonGrade } from '@/lib/scenarios/core/checker/texts'
import { exploreLesson } from '@/lib/scenarios/core/explore'
import { scoreRange, soundPath } from '@/lib/scenarios/core/range'
import { replay } from '@/lib/scenarios/core/replay'
import { EquipmentProfile, type Scenario, Scenario as ScenarioSchema } from '@/lib/scenarios/schema'

interface Line extends Pick<Finding, 'level' | 'path' | 'found' | 'expected' | 'tip'> {
  file: string
}

const args = process.argv.slice(2)
const explain = args.includes('--explain')
const wanted = args.filter((a) => !a.startsWith('--'))
const lines: Line[] = []
let files = 0

const error = (file: string, where: string, found: string, expected: string, tip: string) =>
  lines.push({ level: 'error', file, path: where, found, expected, tip })

/** Reads a file by its schema; what is wrong becomes lines. */
function read<T extends { id: string }>(
  file: string,
  schema: Parameters<typeof readContentFile<T>>[1],
): T | null {
  files++
  try {
    return readContentFile(file, schema)
  } catch (problem) {
    if (!(problem instanceof ContentError)) throw problem
    for (const issue of problem.issues)
      error(
        problem.file,
        issue.path,
        issue.message,
        'what the schema says',
        'See AUTHORING.md and the schema.',
      )
    return null
  }
}

const equipment = contentFiles('equipment').flatMap((f) => read(f, EquipmentProfile) ?? [])
const keys = (p: EquipmentProfile, locale: 'en' | 'es') => Object.keys(p.fragments[locale]).sort().join(', ')
for (const profile of equipment)
  for (const locale of ['en', 'es'] as const)
    if (keys(profile, locale) !== keys(equipment[0]!, 'en'))
      error(
        `content/equipment/${profile.id}.json`,
        `fragments.${locale}`,
        keys(profile, locale),
        keys(equipment[0]!, 'en'),
        'Every profile has the same fragments in each language.',
      )

const shown: Scenario[] = []
const numbers = new Map<number, string>()
for (const file of contentFiles('scenarios')) {
  const id = path.basename(file, '.json')
  if (wanted.length > 0 && !wanted.includes(id)) continue
  const scenario = read(file, ScenarioSchema)
  if (!scenario) continue
  shown.push(scenario)
  const relative = path.relative(process.cwd(), file)
  const same = numbers.get(scenario.number)
  if (same)
    error(
      relative,
      'number',
      `${scenario.number}, like ${same}`,
      'a number of its own',
      'Each lesson has one place.',
    )
  numbers.set(scenario.number, id)
  for (const finding of checkScenario(scenario, { profiles: equipment, shipped: true }).findings)
    lines.push({ ...finding, file: relative })
}
for (const id of wanted)
  if (!shown.some((s) => s.id === id) && !lines.some((l) => l.file.endsWith(`/${id}.json`)))
    error('content/scenarios', id, 'no such lesson', 'the name of a file', 'Leave out .json.')

if (wanted.length === 0) {
  files++
  const name = 'content/lesson-plan.json'
  const plan = ShippedLessonPlan.safeParse(
    JSON.parse(readFileSync(contentFolder('lesson-plan.json'), 'utf8')),
  )
  if (!plan.success)
    error(name, '', plan.error.message, 'what the schema says', 'See lib/scenarios/content.ts.')
  for (const [position, list] of Object.entries(plan.data?.positions ?? {}))
    for (const number of list)
      if (!numbers.has(number))
        error(name, position, `lesson ${number}`, 'the number of a lesson', 'Take it out, or add the lesson.')
}

/** Rooms whose content is checked by their own loader, when they are there. Each loader exports
 *  `checkContent(): { file, path, found, expected, tip, level? }[]`, or at least functions named `list…`, which throw
 *  where a file breaks its schema. */
const ROOMS = ['lib/assessment/content.ts', 'lib/certification/content.ts', 'lib/crews/content.ts']
for (const room of wanted.length > 0 ? [] : ROOMS) {
  const file = path.join(process.cwd(), room)
  if (!existsSync(file)) continue
  const loader = (await import(pathToFileURL(file).href)) as Record<string, unknown>
  files++
  try {
    if (typeof loader.checkContent === 'function') {
      for (const line of (await loader.checkContent()) as Partial<Line>[])
        lines.push({
          file: line.file ?? room,
          level: line.level ?? 'error',
          path: line.path ?? '',
          found: line.found ?? '',
          expected: line.expected ?? '',
          tip: line.tip ?? '',
        })
    } else
      for (const [name, load] of Object.entries(loader))
        if (/^list[A-Z]/.test(name) && typeof load === 'function' && load.length === 0) await load()
  } catch (problem) {
    error(room, '', (problem as Error).message, 'content that loads', 'Mend the file that the message names.')
  }
}

if (explain) {
  for (const scenario of shown) {
    const grade = lessonGrade(scenario)
    console.log(`\n${scenario.id}: ${scenario.steps.length} steps, grade ${grade?.grade.toFixed(1)} in all`)
    if (lines.some((l) => l.level === 'error' && l.file.endsWith(`/${scenario.id}.json`))) continue
    for (const profile of profilesFor(scenario)) {
      const graph = exploreLesson(scenario, profile)
      const range = scoreRange(graph)
      const tell = (name: string, events: Parameters<typeof replay>[2] | null | undefined) => {
        if (!events) return
        const result = replay(scenario, profile, events)
        const way = result.marks.map((m) => `${m.step}:${m.act}(${m.judgement})`).join(' → ')
        console.log(
          `  ${profile.id} ${name}: score ${result.scoreFraction.toFixed(2)}, ${events.length} events\n    ${way}`,
        )
      }
      console.log(
        `  ${profile.id}: score ${range?.least.toFixed(2)} to ${range?.most.toFixed(2)}, ${graph.hubs.size} states${graph.complete ? '' : ' (cut short)'}`,
      )
      tell('sound way', soundPath(graph))
      tell('worst way', range?.leastPath)
    }
  }
}

for (const line of lines) {
  console.log(`${line.level === 'error' ? 'ERROR  ' : 'warning'} ${line.file} · ${line.path}`)
  console.log(`        found: ${line.found}\n        expected: ${line.expected}\n        tip: ${line.tip}`)
}
const errors = lines.filter((l) => l.level === 'error').length
console.log(
  `${files} files checked (${equipment.length} equipment profiles, ${shown.length} lessons): ${errors} errors, ${lines.length - errors} warnings`,
)
process.exitCode = errors > 0 ? 1 : 0
