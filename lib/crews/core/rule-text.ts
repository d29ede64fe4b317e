import { type RuleCondition, SeatCount } from '../schema'

/** A number of seats as a clerk writes it: `2` · `1 for 700 voters, 2 to 8` (or `2 or more`) · `up to 2500: 1; rest: 2`. */
export function countText(count: SeatCount): string {
  switch (count.kind) {
    case 'fixed':
      return String(count.seats)
    case 'each':
      return `1 for ${count.voters} voters, ${count.most === null ? `${count.least} or more` : `${count.least} to ${count.most}`}`
    case 'steps':
      return count.steps
        .map((s) => (s.upTo === null ? `rest: ${s.seats}` : `up to ${s.upTo}: ${s.seats}`))
        .join('; ')
  }
}

export const COUNT_FORMS = '“2”, “1 for 700 voters, 2 to 8” or “up to 2500: 1; rest: 2”'

/** The same text read; null where it is none of the three forms. Commas in numbers and spaces don't matter. */
export function readCount(text: string): SeatCount | null {
  const plain = text
    .trim()
    .toLowerCase()
    .replace(/(\d),(?=\d{3})/g, '$1')
  const count = readFixed(plain) ?? readEach(plain) ?? readSteps(plain)
  const parsed = SeatCount.safeParse(count)
  return parsed.success ? parsed.data : null
}

const readFixed = (text: string) =>
  /^\d+$/.test(text) ? { kind: 'fixed' as const, seats: Number(text) } : null

function readEach(text: string) {
  const match = /^1 for (\d+)(?: voters)?(?:, *(?:(\d+) to (\d+)|(\d+) or more))?$/.exec(text)
  if (!match) return null
  const [, voters, least, most, open] = match
  return {
    kind: 'each' as const,
    voters: Number(voters),
    least: Number(least ?? open ?? 0),
    most: most === undefined ? null : Number(most),
  }
}

function readSteps(text: string) {
  const steps = text
    .split(';')
    .map((part) => part.trim())
    .filter(Boolean)
    .map((part) => {
      const match = /^(?:up to (\d+)|rest) *: *(\d+)$/.exec(part)
      return match
        ? { upTo: match[1] === undefined ? null : Number(match[1]), seats: Number(match[2]) }
        : null
    })
  return steps.length > 0 && !steps.includes(null) ? { kind: 'steps' as const, steps } : null
}

/** The conditions of a rule for which the form has no field: they stay as they are when the rule is published again. */
export function conditionsBeyondForm(when: RuleCondition): RuleCondition {
  const { over: _over, upTo: _upTo, phases, placeKinds, ...rest } = when
  return {
    ...rest,
    ...(phases && phases.length > 1 ? { phases } : {}),
    ...(placeKinds && placeKinds.length > 1 ? { placeKinds } : {}),
  }
}
