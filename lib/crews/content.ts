import { existsSync, readdirSync, readFileSync } from 'node:fs'
import path from 'node:path'
import { CrewTemplate } from './schema'

/** What is wrong in a content file: where, what was found, what was expected, how to put it right. */
export interface ContentFinding {
  file: string
  path: string
  found: string
  expected: string
  tip: string
}

const FOLDER = path.join('content', 'crew-rules')

function readTemplates(root: string): { templates: Map<string, CrewTemplate>; findings: ContentFinding[] } {
  const templates = new Map<string, CrewTemplate>()
  const findings: ContentFinding[] = []
  for (const name of readdirSync(path.join(root, FOLDER)).sort()) {
    if (!name.endsWith('.json')) continue
    const file = path.join(FOLDER, name)
    let json: unknown
    try {
      json = JSON.parse(readFileSync(path.join(root, file), 'utf8'))
    } catch (error) {
      findings.push({
        file,
        path: '',
        found: (error as Error).message,
        expected: 'JSON',
        tip: 'Mend the syntax.',
      })
      continue
    }
    const parsed = CrewTemplate.safeParse(json)
    if (!parsed.success) {
      for (const issue of parsed.error.issues)
        findings.push({
          file,
          path: issue.path.join('.'),
          found: issue.message,
          expected: 'a crew rule template',
          tip: 'See CrewTemplate in lib/crews/schema.ts.',
        })
      continue
    }
    const { key, ruleTable } = parsed.data
    if (key !== name.slice(0, -5) || key !== ruleTable.key)
      findings.push({
        file,
        path: 'key',
        found: `${key}, ${ruleTable.key}`,
        expected: name.slice(0, -5),
        tip: 'Both keys and the file name must agree.',
      })
    else templates.set(key, parsed.data)
  }
  return { templates, findings }
}

/** The crew rule templates shipped in content/crew-rules, by key. @throws an Error that names file and field. */
export function loadCrewTemplates(root = process.cwd()): Map<string, CrewTemplate> {
  const { templates, findings } = readTemplates(root)
  const first = findings[0]
  if (first) throw new Error(`${first.file}: ${first.path}: ${first.found}; expected ${first.expected}`)
  return templates
}

/** All findings, those between files too: every position needs a certificate's policy of its name. */
export function checkContent(root = process.cwd()): ContentFinding[] {
  const { templates, findings } = readTemplates(root)
  for (const [key, { ruleTable }] of templates)
    for (const position of new Set(ruleTable.rules.map((r) => r.position)))
      if (!existsSync(path.join(root, 'content', 'policies', `${position}.json`)))
        findings.push({
          file: path.join(FOLDER, `${key}.json`),
          path: `ruleTable.rules: ${position}`,
          found: 'no certificate for this position',
          expected: `content/policies/${position}.json`,
          tip: 'A seat that nobody can be certified for can never be filled.',
        })
  return findings
}
