import { readdirSync } from 'node:fs'
import path from 'node:path'
import { loadPolicyTemplates } from '@/lib/certification/content'
import type { Policy } from '@/lib/certification/schema'

/** What a seeded county takes from content/: the policies that it adopts, the equipment that it uses. */
export interface SeedContent {
  policies: Policy[]
  /** Keys of the equipment profiles, in the order of their files. */
  equipmentProfiles: string[]
}

export function readSeedContent(root = process.cwd()): SeedContent {
  const profiles = readdirSync(path.join(root, 'content', 'equipment'))
    .filter((file) => file.endsWith('.json'))
    .map((file) => file.slice(0, -5))
    .sort()
  return {
    policies: [...loadPolicyTemplates(root).values()].map(({ policy }) => policy),
    equipmentProfiles: profiles,
  }
}
