import { readdirSync, readFileSync } from 'node:fs'
import path from 'node:path'
import { PolicyTemplate } from './schema'

/** The policy templates shipped in content/policies, by key, checked by the schema that the editor uses.
 *  @throws an Error that names the file and the field. */
export function loadPolicyTemplates(root = process.cwd()): Map<string, PolicyTemplate> {
  const folder = path.join(root, 'content', 'policies')
  const templates = new Map<string, PolicyTemplate>()
  for (const file of readdirSync(folder).sort()) {
    if (!file.endsWith('.json')) continue
    const parsed = PolicyTemplate.safeParse(JSON.parse(readFileSync(path.join(folder, file), 'utf8')))
    if (!parsed.success) {
      const issue = parsed.error.issues[0]!
      throw new Error(`content/policies/${file}: ${issue.path.join('.')}: ${issue.message}`)
    }
    if (parsed.data.key !== file.slice(0, -5) || parsed.data.key !== parsed.data.policy.certificateKey)
      throw new Error(`content/policies/${file}: key, certificateKey and file name must agree`)
    templates.set(parsed.data.key, parsed.data)
  }
  return templates
}
