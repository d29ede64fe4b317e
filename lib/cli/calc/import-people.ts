import { ImportInput, mappingFor, readPath } from '@/lib/exchange/calc-input'
import { planPeople } from '@/lib/exchange/core/people'
import { UnreadableFile } from '@/lib/exchange/table'
import { systemClock } from '@/lib/kernel/clock'
import { defineCalculation } from '../calculation'

export default defineCalculation({
  input: ImportInput,
  run: async ({ path, mapping: given }) => {
    const file = await readPath(path)
    if (file.kind === 'vip')
      throw new UnreadableFile(
        'A VIP feed holds places, not people. Use import-places, or give a CSV or Excel file.',
      )
    const { table } = file
    const mapping = mappingFor('people', table, given)
    const year = systemClock.now().getUTCFullYear()
    const plan = planPeople(table, mapping, { known: [], positions: null, year })
    const count = (action: string) => plan.people.filter((p) => p.action === action).length
    return {
      format: table.format,
      rows: table.rows.length,
      mapping,
      columns: table.header,
      create: count('create'),
      change: count('change'),
      same: count('same'),
      problems: plan.problems,
      duplicates: plan.duplicates,
      notes: table.notes,
    }
  },
})
