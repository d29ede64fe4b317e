import { z } from 'zod'

/** Whom a county lets serve, as its own law says: kept in the county's settings under `serviceRules`. */
export const ServiceRules = z.object({
  /** Students who are too young to vote, where the law lets them serve. */
  students: z.enum(['welcome', 'no']).default('welcome'),
  /** The age in years that a student must have. Only the year of birth is known: who may be old enough passes. */
  studentsFromAge: z.coerce.number().int().min(10).max(25).nullable().default(null),
  /** Students in the crew of one place on one day, at most. Null: no such limit. */
  studentsPerCrew: z.coerce.number().int().min(0).max(50).nullable().default(null),
  /** Whether those whom a party named are asked first, in the order of its newest list, when somebody is replaced. */
  nominated: z.enum(['alike', 'first']).default('alike'),
  residents: z.enum(['anyone', 'county', 'precinct']).default('anyone'),
  citation: z.string().trim().max(500).default(''),
})
export type ServiceRules = z.output<typeof ServiceRules>

/** A county that has set nothing (or something unreadable) bars nobody. */
export function serviceRulesOf(settings: unknown): ServiceRules {
  const own = ServiceRules.safeParse((settings as { serviceRules?: unknown } | null)?.serviceRules ?? {})
  return own.success ? own.data : ServiceRules.parse({})
}

export type BarredBy = 'students' | 'student-age' | 'residents'

/** Which of the county's rules keeps somebody from serving on a day; null: none. */
export function barredBy(
  rules: ServiceRules,
  person: { student: boolean; livesOutside: boolean; birthYear: number | null },
  on: string,
): BarredBy | null {
  if (rules.residents !== 'anyone' && person.livesOutside) return 'residents'
  if (!person.student) return null
  if (rules.students === 'no') return 'students'
  const tooYoung =
    rules.studentsFromAge !== null &&
    person.birthYear !== null &&
    Number(on.slice(0, 4)) - person.birthYear < rules.studentsFromAge
  return tooYoung ? 'student-age' : null
}
