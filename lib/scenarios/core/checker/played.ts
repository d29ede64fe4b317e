/** What shows only when the lesson is played: explored on each equipment profile that it fits. */
import type { Scenario } from '../../schema'
import { holds } from '../facts'
import { factsOf } from '../transition'
import { type Finding, finding, type Rule } from './finding'

export const soundRouteRule: Rule = {
  name: 'sound-route',
  description:
    'On every fitting profile the lesson can be played through without a bad mark, and earns everything.',
  check({ explored, options }) {
    const out: Finding[] = []
    if (options.profiles.length > 0 && explored.length === 0)
      out.push(
        finding(
          'sound-route',
          'error',
          'needs',
          'no profile fits',
          'at least one',
          'Ask less of the equipment.',
        ),
      )
    for (const { profile, graph, range, sound } of explored) {
      const on = `on ${profile.id}`
      if (!graph.complete)
        out.push(
          finding(
            'sound-route',
            'warning',
            graph.wide.length > 0 ? `steps.${graph.wide[0]}.controls` : 'steps',
            `too many states to search ${on}${graph.wide.length > 0 ? ` (${graph.wide.join(', ')})` : ''}`,
            'a step that can be searched through',
            'Name the few "controls" that the step is about.',
          ),
        )
      if (!range) {
        out.push(
          finding(
            'sound-route',
            'error',
            'start',
            `no end can be reached ${on}`,
            'an end',
            'Follow the story from its start.',
          ),
        )
        continue
      }
      for (const step of new Set(range.stuck.map((key) => graph.hubs.get(key)!.step)))
        if (graph.complete)
          out.push(
            finding(
              'sound-route',
              'error',
              `steps.${step}`,
              `a state from which no end can be reached ${on}`,
              'a way on in every state',
              'Some branch never holds: look at its conditions.',
            ),
          )
      if (!sound)
        out.push(
          finding(
            'sound-route',
            'error',
            'steps',
            `no route with sound marks only ${on}`,
            'one',
            'Each step on the way needs a sound way on that leads to another such step.',
          ),
        )
      if (range.most < 1)
        out.push(
          finding(
            'sound-route',
            'error',
            'steps',
            `the best score is ${range.most.toFixed(3)} ${on}`,
            '1',
            'See the way by: npm run -s check:content -- --explain <id>.',
          ),
        )
    }
    return out
  },
}

export const outcomesRule: Rule = {
  name: 'outcomes',
  description: 'Outcomes can be reached, and none holds before anything is done.',
  check({ scenario, explored }) {
    const out: Finding[] = []
    for (const step of scenario.steps) {
      if (step.kind !== 'operate') continue
      const reached = new Map<string, string[]>()
      for (const { profile, graph } of explored) {
        const hubs = [...graph.hubs.values()].filter((h) => h.step === step.id)
        for (const hub of hubs) {
          const early = step.outcomes.find((o) => holds(o.when, factsOf(scenario, profile, hub.state)))
          if (early) {
            out.push(
              finding(
                'outcomes',
                'error',
                `steps.${step.id}.outcomes.${early.id}`,
                `holds already when the step begins (${profile.id})`,
                'to become true by doing something',
                'Ask for more, or set "restart": true.',
              ),
            )
            break
          }
        }
        if (graph.wide.includes(step.id)) continue
        for (const act of [...step.outcomes, ...step.watch])
          if (
            hubs.length > 0 &&
            !hubs.some((h) => h.edges.some((e) => e.act === act.id)) &&
            step.outcomes.some((o) => o.id === act.id)
          )
            reached.set(act.id, [...(reached.get(act.id) ?? []), profile.id])
      }
      for (const [act, profiles] of reached)
        if (profiles.length === explored.length)
          out.push(
            finding(
              'outcomes',
              'error',
              `steps.${step.id}.outcomes.${act}`,
              'can never come about',
              'a way to it',
              "An outcome before it may always hold first, or its fact can't have that value.",
            ),
          )
    }
    return out
  },
}

/** Wrong choices that lead to a step of their own: not where a sound choice of the same step leads. */
function wrongBranches(scenario: Scenario): string[] {
  const key = (next: unknown) => JSON.stringify(next)
  return scenario.steps.flatMap((step) => {
    const parts =
      step.kind === 'decide'
        ? step.options
        : step.kind === 'operate'
          ? [...step.outcomes, ...step.watch.filter((w) => w.next)]
          : []
    const sound = new Set(parts.filter((p) => p.judgement === 'sound').map((p) => key(p.next)))
    const below = step.kind === 'spot' || step.kind === 'order' ? step.below : []
    return [
      ...parts
        .filter((p) => (p.judgement === 'mistake' || p.judgement === 'critical') && !sound.has(key(p.next)))
        .map((p) => `${step.id}.${p.id}`),
      ...below
        .filter((b) => key(b.next) !== key(step.kind === 'spot' || step.kind === 'order' ? step.next : ''))
        .map((_, i) => `${step.id}.below.${i}`),
    ]
  })
}

const JUDGED_STEPS = 5
const WRONG_BRANCHES = 2

export const shapeRule: Rule = {
  name: 'shape',
  description:
    'A shipped lesson has five judged steps, two wrong branches that play out, hands needed, two endings.',
  check({ scenario, options, explored }) {
    if (!options.shipped) return []
    const out: Finding[] = []
    const say = (path: string, found: string, expected: string, tip: string) =>
      out.push(finding('shape', 'error', path, found, expected, tip))
    for (const { profile, graph } of explored) {
      const judged = judgedStepsOnSoundWay(graph)
      if (judged !== null && judged < JUDGED_STEPS)
        say(
          'steps',
          `${judged} judged steps on the sound way (${profile.id})`,
          `at least ${JUDGED_STEPS}`,
          'Add things to decide or to do.',
        )
    }
    const wrong = wrongBranches(scenario)
    if (wrong.length < WRONG_BRANCHES)
      say(
        'steps',
        `${wrong.length} wrong choices with a step of their own (${wrong.join(', ') || 'none'})`,
        `at least ${WRONG_BRANCHES}`,
        'Let a mistake lead to a step that shows what comes of it.',
      )
    if (!scenario.steps.some((s) => s.kind === 'operate' || s.kind === 'spot' || s.kind === 'order'))
      say('steps', 'only decisions', 'an operate, spot or order step', 'Let hands do something.')
    if (scenario.steps.filter((s) => s.kind === 'end').length < 2)
      say('steps', 'one ending', 'two or more', 'How it went should show at the end.')
    return out
  },
}

/** Judged steps on the shortest all-sound way; null where there is none. */
function judgedStepsOnSoundWay(graph: {
  start: string
  hubs: ReadonlyMap<
    string,
    { end: boolean; counts: boolean; edges: { to: string; severity: number; points: number | null }[] }
  >
}): number | null {
  const steps = new Map([[graph.start, 0]])
  const queue = [graph.start]
  for (let key = queue.shift(); key !== undefined; key = queue.shift()) {
    const hub = graph.hubs.get(key)!
    if (hub.end) return steps.get(key)!
    for (const edge of hub.edges)
      if (edge.severity === 0 && !steps.has(edge.to)) {
        steps.set(edge.to, steps.get(key)! + (hub.counts && edge.points !== null ? 1 : 0))
        queue.push(edge.to)
      }
  }
  return null
}

export const playedRules: readonly Rule[] = [soundRouteRule, outcomesRule, shapeRule]
