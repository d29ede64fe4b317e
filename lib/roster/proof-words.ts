import type { LevelWords } from './outcome'
import type { RosterResult } from './schema'

/** What a run has proven, level by level, for people who never heard of a bound. Pure; English, for the county's staff. */

const TIERS: Record<string, string> = {
  lead: 'lead seats',
  minimum: 'seats of the legal minimum crew',
  rest: 'further seats',
}

type Result = Pick<RosterResult, 'status' | 'classes' | 'levels'>

/** One line for the whole run: is this the best roster there is? */
export function statusWords(result: Result): string {
  switch (result.status) {
    case 'optimal':
      return 'This is the best roster there is: no other fills more important seats, and none that fills as many misses fewer of the county’s wishes or has less travel. All of it is proven.'
    case 'within-gap':
      return 'A better roster may exist. By how much at most is known, and stands below.'
    case 'interrupted':
      return 'The search was stopped before its end. This is the best roster found until then; below stands what is proven of it.'
  }
}

/** One line for each of: the lead seats, the legal minimum crew, the further seats (those that there are), the county's
 *  wishes where any is missed or open, the travel (`added`: the county's wishes add miles to it). */
export function levelWords(result: Result, added = false): LevelWords[] {
  return result.levels.flatMap((level) =>
    level.name === 'seats'
      ? seatWords(result, level)
      : level.name === 'violations'
        ? ruleWords(level)
        : travelWords(level, added),
  )
}

type Level = RosterResult['levels'][number]

/** The bound of level 1 counts the classes up to each, so that of one tier is what the last class of it adds. */
function seatWords(result: Result, level: Level): LevelWords[] {
  const tiers = [...new Set(result.classes.map((c) => tierOf(c.key)))]
  let reached = 0
  return tiers.map((tier) => {
    const of = result.classes.flatMap((c, i) => (tierOf(c.key) === tier ? [i] : []))
    const seats = sum(of.map((i) => result.classes[i]!.seats))
    const filled = sum(of.map((i) => level.value[i] ?? 0))
    const before = reached
    reached += filled
    const bound = level.bound?.[of.at(-1)!] ?? null
    const title = `${filled} of ${seats} ${TIERS[tier] ?? tier} filled`
    if (filled === seats)
      return { title, proven: true, sentence: `Every one of the ${TIERS[tier] ?? tier} is filled.` }
    const missing = seats - filled
    const these = missing === 1 ? '1 seat' : `${missing} seats`
    if (bound !== null && bound <= reached)
      return {
        title,
        proven: true,
        sentence: `${these} can’t be filled${before > 0 ? ' without emptying a more important one' : ''}: this is proven.`,
      }
    const more = bound === null ? null : Math.min(missing, bound - reached)
    return {
      title,
      proven: false,
      sentence:
        more === null
          ? `${these} stayed empty; that none of them can be filled is not proven.`
          : `${these} stayed empty; at most ${more} more could be filled, and it is not known whether any can.`,
    }
  })
}

function ruleWords(level: Level): LevelWords[] {
  const broken = level.value[0] ?? 0
  if (broken === 0) return []
  return [
    {
      title: broken === 1 ? '1 wish of the county isn’t met' : `${broken} wishes of the county aren’t met`,
      proven: level.gap === 0,
      sentence:
        level.gap === 0
          ? 'No roster that fills these seats meets more of them: this is proven.'
          : `At least ${level.bound?.[0] ?? 0} can’t be met; whether all the others can’t either is not proven.`,
    },
  ]
}

function travelWords(level: Level, added: boolean): LevelWords[] {
  const title = added ? 'Travel, with the miles that your wishes add' : 'Travel'
  if (level.gap === 0)
    return [
      {
        title,
        proven: true,
        sentence: 'No roster that does as well in all that stands above has less of it: this is proven.',
      },
    ]
  if (level.gap === null)
    return [{ title, proven: false, sentence: 'That no roster has less of it is not proven.' }]
  return [
    {
      title,
      proven: false,
      sentence: `Of every 100 miles at most ${milesOf(level.gap)} could be saved; whether they can is not known.`,
    },
  ]
}

const tierOf = (key: string) => key.split('/')[0]!
const sum = (ns: number[]) => ns.reduce((a, b) => a + b, 0)
/** The gap is a share of the value: that much of it could at most be saved. Rounded up, so that it never says less. */
const milesOf = (gap: number) => (Math.ceil(gap * 1000) / 10).toFixed(1)
