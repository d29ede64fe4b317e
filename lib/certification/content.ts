import { existsSync, readdirSync, readFileSync } from 'node:fs'
import path from 'node:path'
import { type EvidenceRule, PolicyTemplate, type Requirement } from './schema'

/** What is wrong in a content file: where, what was found, what was expected, how to put it right. */
export interface ContentFinding {
  file: string
  path: string
  found: string
  expected: string
  tip: string
}

const FOLDER = path.join('content', 'policies')
/** Where the thing that a leaf names is kept; other kinds are named by the county itself. */
const KEPT_IN: Partial<Record<EvidenceRule['fact'], string>> = {
  lessonFinished: 'scenarios',
  quizPassed: 'quizzes',
}

const leavesOf = (r: Requirement): EvidenceRule[] => (r.kind === 'evidence' ? [r] : r.of.flatMap(leavesOf))

function readPolicies(root: string): { templates: Map<string, PolicyTemplate>; findings: ContentFinding[] } {
  const templates = new Map<string, PolicyTemplate>()
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
    const parsed = PolicyTemplate.safeParse(json)
    if (!parsed.success) {
      for (const issue of parsed.error.issues)
        findings.push({
          file,
          path: issue.path.join('.'),
          found: issue.message,
          expected: 'a policy template',
          tip: 'See PolicyTemplate in lib/certification/schema.ts.',
        })
      continue
    }
    const { key, policy } = parsed.data
    if (key !== name.slice(0, -5) || key !== policy.certificateKey)
      findings.push({
        file,
        path: 'key',
        found: `${key}, ${policy.certificateKey}`,
        expected: name.slice(0, -5),
        tip: 'key, certificateKey and file name must agree.',
      })
    else templates.set(key, parsed.data)
  }
  return { templates, findings }
}

/** The policy templates shipped in content/policies, by key, checked by the schema that the editor uses.
 *  @throws an Error that names the file and the field. */
export function loadPolicyTemplates(root = process.cwd()): Map<string, PolicyTemplate> {
  const { templates, findings } = readPolicies(root)
  const first = findings[0]
  if (first) throw new Error(`${first.file}: ${first.path}: ${first.found}; expected ${first.expected}`)
  return templates
}

/** All findings, those between files too: a lesson or quiz that a rule names must be there. */
export function checkContent(root = process.cwd()): ContentFinding[] {
  const { templates, findings } = readPolicies(root)
  for (const [key, { policy }] of templates)
    for (const ruleSet of policy.ruleSets)
      for (const leaf of leavesOf(ruleSet.requirement)) {
        const file = path.join(FOLDER, `${key}.json`)
        const where = `policy.ruleSets: ${leaf.fact} ${leaf.topic}`
        const folder = KEPT_IN[leaf.fact]
        if (folder && !existsSync(path.join(root, 'content', folder, `${leaf.topic}.json`)))
          findings.push({
            file,
            path: where,
            found: 'nothing of this name',
            expected: `content/${folder}/${leaf.topic}.json`,
            tip: 'Nobody could ever meet this rule: name one that there is.',
          })
        if (!leaf.label)
          findings.push({
            file,
            path: where,
            found: 'no label',
            expected: 'a label in English and Spanish',
            tip: 'It is what a poll worker reads on the path.',
          })
      }
  return findings
}
