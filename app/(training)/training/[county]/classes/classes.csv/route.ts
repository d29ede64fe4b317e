import { listCountyClasses } from '@/lib/classes/queries-classes'
import { csvList, csvResponse } from '@/lib/papers/csv'
import { recordListExport } from '@/lib/record/commands'
import { defineRoute } from '@/lib/web/define-route'

/** Every class of a county, the earliest first. */
export const GET = defineRoute<{ county: string }>(async (actor, { county }) => {
  const { upcoming, toClose, past } = await listCountyClasses(actor, county, 'all')
  const classes = [...upcoming, ...toClose, ...past].sort(
    (a, b) => a.startsAt.getTime() - b.startsAt.getTime(),
  )
  await recordListExport(actor, county, 'manageClasses', { list: 'classes', rows: classes.length })
  return csvResponse(
    `classes-${county}.csv`,
    csvList(
      [
        { name: 'Day', of: (held) => held.heldOn },
        { name: 'When', of: (held) => held.when },
        { name: 'What', of: (held) => held.title },
        { name: 'For', of: (held) => held.forPosition },
        { name: 'Where', of: (held) => held.placeName },
        { name: 'Address', of: (held) => held.placeAddress },
        { name: 'Language', of: (held) => (held.locale === 'es' ? 'Spanish' : 'English') },
        { name: 'Trainer', of: (held) => held.trainerName },
        { name: 'Seats', of: (held) => held.seats },
        { name: 'Taken', of: (held) => held.seats - held.seatsLeft },
        { name: 'Waiting', of: (held) => held.waiting },
        { name: 'State', of: (held) => held.state },
      ],
      classes,
    ),
  )
})
