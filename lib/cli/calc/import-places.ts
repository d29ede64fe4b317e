import { ImportInput, mappingFor, readPath } from '@/lib/exchange/calc-input'
import { type PlacesGround, planPlaces, readPlaces } from '@/lib/exchange/core/places'
import { readVipPlaces } from '@/lib/exchange/core/vip-places'
import { UnreadableFile } from '@/lib/exchange/table'
import { defineCalculation } from '../calculation'

const EMPTY_COUNTY: PlacesGround = { places: [], precincts: [], profiles: null, defaultProfile: 'unknown' }

export default defineCalculation({
  input: ImportInput,
  run: async ({ path, mapping: given }) => {
    const file = await readPath(path)
    if (file.kind === 'vip') {
      if (given) throw new UnreadableFile('a VIP feed names its own fields; leave the mapping out', 'mapping')
      const told = readVipPlaces(file.vip, null)
      const { counts, localities, electionOn } = told
      const plan = planPlaces(told, EMPTY_COUNTY)
      return {
        format: `vip-${file.vip.version}`,
        rows: file.vip.objects.length,
        electionOn,
        counts,
        localities,
        create: plan.places.length,
        createPrecincts: plan.precincts.length,
        problems: plan.problems,
        duplicates: [],
      }
    }
    const { table } = file
    const mapping = mappingFor('places', table, given)
    const plan = planPlaces(readPlaces(table, mapping), EMPTY_COUNTY)
    return {
      format: table.format,
      rows: table.rows.length,
      mapping,
      columns: table.header,
      create: plan.places.length,
      createPrecincts: plan.precincts.length,
      problems: plan.problems,
      duplicates: [],
      notes: table.notes,
    }
  },
})
