import type { EquipmentProfile, ProfileNeeds } from '../schema'

/** Whether a lesson makes sense on a county's equipment. */
export function profileFits(needs: ProfileNeeds, profile: EquipmentProfile): boolean {
  return (
    (needs.marking === undefined || needs.marking === profile.marking) &&
    (needs.stationCasts === undefined || needs.stationCasts === profile.stationCasts) &&
    (needs.undervoteNotice === undefined ||
      needs.undervoteNotice.includes(profile.selection.undervoteNotice)) &&
    (needs.audio === undefined || profile.assistive.audio) &&
    (needs.keypad === undefined || profile.assistive.keypad) &&
    (needs.switches === undefined || profile.assistive.switches) &&
    (needs.scannerOvervote === undefined || needs.scannerOvervote === profile.scanner.overvote)
  )
}
