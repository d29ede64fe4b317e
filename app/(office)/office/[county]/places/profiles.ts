import { listEquipmentProfiles } from '@/lib/scenarios/content'

/** Equipment profiles to choose from: key and name. */
export const profileNames = (): [string, string][] =>
  listEquipmentProfiles().map((profile) => [profile.id, profile.name.en])
