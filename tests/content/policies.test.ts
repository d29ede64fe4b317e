import { cpSync, mkdtempSync, rmSync, writeFileSync } from 'node:fs'
import os from 'node:os'
import path from 'node:path'
import { describe, expect, it } from 'vitest'
import { checkContent, loadPolicyTemplates } from '@/lib/certification/content'
import { spansOf } from '@/lib/certification/core/spans-of'
import { todo } from '@/lib/certification/core/todo'
import type { EvidenceRule, Fact, Requirement } from '@/lib/certification/schema'
import { civilDate } from '@/lib/kernel/dates'

const templates = loadPolicyTemplates()
const leaves = (r: Requirement): EvidenceRule[] => (r.kind === 'evidence' ? [r] : r.of.flatMap(leaves))

describe('policy templates', () => {
  it('cover the positions of the invented county', () => {
    expect([...templates.keys()]).toEqual([
      'ballot-station',
      'check-in',
      'deputy',
      'lead',
      'line-and-access',
      'scanner',
    ])
  })

  describe.each([...templates.values()])('$key', ({ policy, notice }) => {
    const all = policy.ruleSets.flatMap((r) => leaves(r.requirement))

    it('says that it is a template to be checked against local law, in both languages', () => {
      expect(notice.en).toMatch(/template.*check/is)
      expect(notice.es).toMatch(/plantilla.*compare/is)
      for (const r of policy.ruleSets) expect(r.citation).toMatch(/no legal source/)
    })

    it('names every part in English and Spanish', () => {
      for (const leaf of all)
        expect(leaf.label?.en && leaf.label.es, `${leaf.fact} ${leaf.topic}`).toBeTruthy()
    })

    it('is reached by doing everything that it lists, and not by doing nothing', () => {
      const on = civilDate('2026-09-01')
      const facts = all.map(
        (leaf, i): Fact => ({
          id: String(i),
          kind: leaf.fact,
          topic: leaf.topic,
          on,
          scoreFraction: 1,
          equipmentProfile: 'alder',
        }),
      )
      expect(todo(policy, [], [], on).length).toBeGreaterThan(0)
      expect(todo(policy, facts, [], on)).toEqual([])
      // Every template's shortest window is 24 months.
      expect(spansOf(policy, facts, [])).toEqual([{ from: '2026-09-01', until: '2028-09-01' }])
    })
  })
})

describe('the content check', () => {
  it('finds nothing in what is shipped', () => expect(checkContent()).toEqual([]))

  it('finds broken JSON, a broken field, a wrong name, and a lesson that isn’t there', () => {
    const root = mkdtempSync(path.join(os.tmpdir(), 'policies-'))
    try {
      cpSync('content/policies', path.join(root, 'content/policies'), { recursive: true })
      cpSync('content/scenarios', path.join(root, 'content/scenarios'), { recursive: true })
      cpSync('content/quizzes', path.join(root, 'content/quizzes'), { recursive: true })
      const template = templates.get('check-in')!
      const write = (name: string, text: string) =>
        writeFileSync(path.join(root, 'content/policies', name), text)
      write('deputy.json', '{')
      write('scanner.json', JSON.stringify({ ...template, template: false }))
      write('other.json', JSON.stringify(template))
      write('check-in.json', JSON.stringify(template).replaceAll('card-returned', 'no-such-lesson'))
      const found = checkContent(root).map((f) => `${path.basename(f.file)} ${f.path}`)
      expect(found).toEqual([
        'deputy.json ',
        'other.json key',
        'scanner.json template',
        'check-in.json policy.ruleSets: lessonFinished no-such-lesson',
      ])
      expect(() => loadPolicyTemplates(root)).toThrow('deputy.json')
    } finally {
      rmSync(root, { recursive: true })
    }
  })
})
