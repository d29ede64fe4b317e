import { createReadStream, statSync } from 'node:fs'
import { z } from 'zod'
import { type ImportKind, type Mapping, mappingProblems, suggestMapping } from './core/fields'
import { type FileRead, readFile } from './read-file'
import { type Table, UnreadableFile } from './table'

/** What `calc import-people` and `calc import-places` take. */
export const ImportInput = z.strictObject({
  path: z
    .string()
    .min(1)
    .refine((path) => statSync(path, { throwIfNoEntry: false })?.isFile() ?? false, {
      message: 'there is no such file; give the path of a CSV, Excel or VIP XML file',
    }),
  /** Field → column; left out: as the header suggests. */
  mapping: z.record(z.string().max(60), z.string().max(200)).optional(),
})

export const readPath = (path: string): Promise<FileRead> => readFile(createReadStream(path))

/** The mapping given, completed by what the header suggests. @throws UnreadableFile where it can't work. */
export function mappingFor(kind: ImportKind, table: Table, given: Mapping | undefined): Mapping {
  const taken = new Set(Object.values(given ?? {}))
  const suggested = Object.entries(suggestMapping(kind, table.header)).filter(
    ([, column]) => !taken.has(column),
  )
  const mapping = { ...Object.fromEntries(suggested), ...given }
  const [problem] = mappingProblems(kind, table.header, mapping)
  if (problem) throw new UnreadableFile(problem.message, `mapping.${problem.field}`)
  return mapping
}
