import { findEquipmentProfile, findScenario, listEquipmentProfiles, listScenarios } from './content'
import { profileFits } from './core/fit'
import { fillText } from './core/texts'
import type { Locale } from './schema'

export interface ShortJobAid {
  key: string
  title: string
  lines: string[]
}

/** The job aids of lessons on the equipment of one place; lessons that its equipment doesn't fit are left out. Says
 *  nothing about any person. */
export function jobAidsOn(lessonKeys: readonly string[], profileId: string, locale: Locale): ShortJobAid[] {
  const profile = findEquipmentProfile(profileId) ?? listEquipmentProfiles()[0]!
  return lessonKeys.flatMap((key) => {
    const found = findScenario(key)
    if (!found || found.scenario.jobAid.length === 0 || !profileFits(found.scenario.needs, profile)) return []
    const texts = found.scenario.texts[locale]
    return [
      {
        key,
        title: fillText(texts.title ?? key, profile, locale),
        lines: found.scenario.jobAid.map((id) => fillText(texts[`job-aid.${id}`] ?? id, profile, locale)),
      },
    ]
  })
}

/** Those of all lessons that fit the equipment, by title. */
export const allJobAidsOn = (profileId: string, locale: Locale): ShortJobAid[] =>
  jobAidsOn(
    listScenarios().map((scenario) => scenario.id),
    profileId,
    locale,
  ).sort((a, b) => (a.title < b.title ? -1 : 1))

export const equipmentName = (profileId: string, locale: Locale): string =>
  (findEquipmentProfile(profileId) ?? listEquipmentProfiles()[0]!).name[locale]
