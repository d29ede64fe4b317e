/** Which lessons belong to which position: a county's own choice, else the state office's, else what ships. */

export type LessonPlan = Readonly<Record<string, readonly string[]>>

export type PlanOrigin = 'county' | 'state' | 'shipped'

/** Lesson ids of a position in their order, those that exist, and who chose them. An empty choice is a choice. */
export function lessonsOf(
  position: string,
  plans: { county: LessonPlan; state: LessonPlan; shipped: LessonPlan },
  known: ReadonlySet<string>,
): { origin: PlanOrigin; lessons: string[] } {
  for (const origin of ['county', 'state', 'shipped'] as const) {
    const chosen = plans[origin][position]
    if (chosen) return { origin, lessons: chosen.filter((id) => known.has(id)) }
  }
  return { origin: 'shipped', lessons: [] }
}
