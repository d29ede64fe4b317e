import { readdirSync, readFileSync } from 'node:fs'
import path from 'node:path'
import { CrewTemplate } from './schema'

/** The crew rule templates shipped in content/crew-rules, by key. @throws an Error that names file and field. */
export function loadCrewTemplates(root = process.cwd()): Map<string, CrewTemplate> {
  const folder = path.join(root, 'content', 'crew-rules')
  const templates = new Map<string, CrewTemplate>()
  for (const file of readdirSync(folder).sort()) {
    if (!file.endsWith('.json')) continue
    const parsed = CrewTemplate.safeParse(JSON.parse(readFileSync(path.join(folder, file), 'utf8')))
    if (!parsed.success) {
      const issue = parsed.error.issues[0]!
      throw new Error(`content/crew-rules/${file}: ${issue.path.join('.')}: ${issue.message}`)
    }
    if (parsed.data.key !== file.slice(0, -5) || parsed.data.key !== parsed.data.ruleTable.key)
      throw new Error(`content/crew-rules/${file}: both keys and the file name must agree`)
    templates.set(parsed.data.key, parsed.data)
  }
  return templates
}
