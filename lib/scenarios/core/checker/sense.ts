/** Whether a lesson makes sense as a story: a good choice everywhere, every step reached, an end in reach. */
import { targetsOf } from '../facts'
import { nextsOf } from '../relevance'
import { type Finding, finding, type Rule } from './finding'
import { namesIn } from './structure'

export const judgementsRule: Rule = {
  name: 'judgements',
  description: 'Each decision has a sound choice; what is right in an order or a scene earns full marks.',
  check({ scenario }) {
    const out: Finding[] = []
    const say = (level: Finding['level'], path: string, found: string, expected: string, tip: string) =>
      out.push(finding('judgements', level, path, found, expected, tip))
    for (const step of scenario.steps) {
      const path = `steps.${step.id}`
      if (step.kind === 'decide') {
        const judged = step.options.filter((o) => o.judgement)
        if (step.options.length > 1 && judged.length < step.options.length)
          say(
            'error',
            path,
            'options without a judgement',
            'a judgement on each',
            'Only a story page (one option) has none.',
          )
        if (judged.length > 0 && !judged.some((o) => o.judgement === 'sound'))
          say('error', path, 'no sound option', 'at least one', 'There must always be a good thing to do.')
        if (step.options.length === 1 && judged.length === 1)
          say(
            'error',
            path,
            'one judged option',
            'two or more, or one without a judgement',
            'A choice needs a choice.',
          )
      }
      if (step.kind === 'operate' && !step.outcomes.some((o) => o.judgement === 'sound'))
        say(
          'error',
          `${path}.outcomes`,
          'no sound outcome',
          'at least one',
          'There must be a good way to finish.',
        )
      if (step.kind === 'spot' && !step.things.some((t) => t.wrong))
        say(
          'error',
          `${path}.things`,
          'nothing wrong',
          'at least one thing',
          'A scene needs something to find.',
        )
      if (step.kind === 'spot')
        for (const thing of step.things)
          if (thing.critical && !thing.wrong)
            say(
              'error',
              `${path}.things.${thing.id}`,
              'critical but not wrong',
              'wrong',
              'Only a missed wrong thing can be critical.',
            )
      if (step.kind === 'order') {
        const ranks = step.items.map((item, i) => item.rank ?? i + 1)
        if (ranks.some((r, i) => i > 0 && r < ranks[i - 1]!))
          say(
            'error',
            `${path}.items`,
            `ranks ${ranks.join(', ')}`,
            'ranks that never fall',
            'Write the items in the right order.',
          )
        for (const pair of step.critical) {
          const at = (id: string) => step.items.findIndex((i) => i.id === id)
          if (at(pair.before) < 0 || at(pair.after) < 0 || ranks[at(pair.before)]! >= ranks[at(pair.after)]!)
            say(
              'error',
              `${path}.critical`,
              `${pair.before} before ${pair.after}`,
              'two items in that order',
              'Name items; the first must stand higher.',
            )
        }
      }
      for (const id of namesIn(step))
        if (
          /(^|-)(wrong|mistake|bad|correct|incorrect|sound|critical)(-|$)/.test(id) &&
          step.kind !== 'order'
        )
          say(
            'warning',
            `${path}.${id}`,
            `the id "${id}"`,
            'an id that tells no answer',
            'Ids travel to the browser: name what is done.',
          )
    }
    return out
  },
}

/** Steps that can't be reached from the start, and steps without a way to an end (by `next` alone). */
export const reachRule: Rule = {
  name: 'reach',
  description: 'Every step can be reached, and from every step an end can be reached.',
  check({ scenario }) {
    const forward = new Map(
      scenario.steps.map((s) => [s.id, nextsOf(s).flatMap(({ next }) => targetsOf(next))] as const),
    )
    const from = (starts: string[], edges: ReadonlyMap<string, readonly string[]>) => {
      const seen = new Set<string>()
      const queue = [...starts]
      for (let at = queue.pop(); at !== undefined; at = queue.pop()) {
        if (seen.has(at)) continue
        seen.add(at)
        queue.push(...(edges.get(at) ?? []))
      }
      return seen
    }
    const backward = new Map<string, string[]>()
    for (const [id, targets] of forward)
      for (const target of targets) backward.set(target, [...(backward.get(target) ?? []), id])
    const ends = scenario.steps.filter((s) => s.kind === 'end').map((s) => s.id)
    const reached = from([scenario.start], forward)
    const ending = from(ends, backward)
    return scenario.steps.flatMap((step) => [
      ...(reached.has(step.id)
        ? []
        : [
            finding(
              'reach',
              'error',
              `steps.${step.id}`,
              'no way leads here',
              'a way from the start',
              'Name it in some "next", or take it out.',
            ),
          ]),
      ...(ending.has(step.id)
        ? []
        : [
            finding(
              'reach',
              'error',
              `steps.${step.id}`,
              'no way to an end',
              'a way out',
              'It ends in a circle: give it a "next" that goes on.',
            ),
          ]),
    ])
  },
}
