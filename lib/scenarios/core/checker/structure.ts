/** What must hold before a lesson can be played at all: every name leads somewhere. */
import type { Scenario, Step } from '../../schema'
import { targetsOf } from '../facts'
import { conditionsOf, nextsOf } from '../relevance'
import { machineOf, setupOf } from '../stations'
import { startScenario } from '../transition'
import { type Checked, type Finding, finding, type Rule } from './finding'

const RESERVED = [
  'title',
  'text',
  'why',
  'goal',
  'hint',
  'help',
  'station',
  'job-aid',
  'summary',
  'spot',
  'order',
]
const BUILT_IN_SOURCES = ['common-practice', 'county-procedure']

const list = (names: readonly string[]) => (names.length === 0 ? 'none' : names.join(', '))

/** Names that stand in one step. */
export const namesIn = (step: Step): string[] => {
  switch (step.kind) {
    case 'decide':
      return step.options.map((o) => o.id)
    case 'operate':
      return [
        ...step.acts.map((a) => a.id),
        ...step.watch.map((w) => w.id),
        ...step.outcomes.map((o) => o.id),
      ]
    case 'spot':
      return step.things.map((t) => t.id)
    case 'order':
      return step.items.map((i) => i.id)
    case 'end':
      return []
  }
}

export const namesRule: Rule = {
  name: 'names',
  description: 'Ids are unique, not reserved, and lead somewhere.',
  check({ scenario }) {
    const out: Finding[] = []
    const say = (path: string, found: string, expected: string, tip: string) =>
      out.push(finding('names', 'error', path, found, expected, tip))
    const steps = scenario.steps.map((s) => s.id)
    const has = new Set(steps)
    if (!has.has(scenario.start))
      say('start', scenario.start, 'the id of a step', `Steps are: ${list(steps)}.`)
    for (const id of new Set(steps))
      if (steps.filter((s) => s === id).length > 1)
        say(`steps.${id}`, 'two steps with this id', 'one', 'Rename one of them and its texts.')
    for (const id of steps)
      if (RESERVED.includes(id))
        say(`steps.${id}`, `"${id}" as the id of a step`, 'another word', 'It has a meaning among the texts.')
    for (const step of scenario.steps) {
      const names = namesIn(step)
      for (const name of new Set(names)) {
        if (RESERVED.includes(name))
          say(
            `steps.${step.id}.${name}`,
            `"${name}" as an id`,
            'another word',
            'It has a meaning among the texts.',
          )
        if (names.filter((n) => n === name).length > 1)
          say(
            `steps.${step.id}.${name}`,
            'the id twice in one step',
            'once',
            'Texts are found by id: rename one.',
          )
      }
      for (const { path, next } of nextsOf(step))
        for (const target of targetsOf(next))
          if (!has.has(target))
            say(`steps.${step.id}.${path}`, target, 'the id of a step', `Steps are: ${list(steps)}.`)
      for (const { path, source } of sourcesOf(step))
        if (!BUILT_IN_SOURCES.includes(source) && !scenario.sources[source])
          say(
            `steps.${step.id}.${path}`,
            source,
            'an entry of sources, common-practice or county-procedure',
            'Add the citation under "sources".',
          )
      for (const { path, effects } of effectsOf(step))
        for (const [flag, value] of Object.entries(effects))
          if (!scenario.flags[flag]?.includes(value))
            say(
              `steps.${step.id}.${path}.effects.${flag}`,
              value,
              scenario.flags[flag] ? list(scenario.flags[flag]) : 'a flag that is declared',
              'Declare the flag and its values under "flags".',
            )
    }
    return out
  },
}

function sourcesOf(step: Step): { path: string; source: string }[] {
  const of = (path: string, source: string | undefined) => (source ? [{ path, source }] : [])
  switch (step.kind) {
    case 'decide':
      return step.options.flatMap((o) => of(`options.${o.id}.source`, o.source))
    case 'operate':
      return [
        ...step.watch.flatMap((w) => of(`watch.${w.id}.source`, w.source)),
        ...step.outcomes.flatMap((o) => of(`outcomes.${o.id}.source`, o.source)),
        ...of('help.source', step.help.source),
      ]
    case 'spot':
    case 'order':
      return of('source', step.source)
    case 'end':
      return []
  }
}

function effectsOf(step: Step): { path: string; effects: Record<string, string> }[] {
  const of = (path: string, effects: Record<string, string> | undefined) =>
    effects ? [{ path, effects }] : []
  switch (step.kind) {
    case 'decide':
      return step.options.flatMap((o) => of(`options.${o.id}`, o.effects))
    case 'operate':
      return [
        ...step.acts.flatMap((a) => of(`acts.${a.id}`, a.effects)),
        ...step.watch.flatMap((w) => of(`watch.${w.id}`, w.effects)),
        ...step.outcomes.flatMap((o) => of(`outcomes.${o.id}`, o.effects)),
        ...of('help', step.help.effects),
      ]
    case 'spot':
    case 'order':
      return of('step', step.effects)
    case 'end':
      return []
  }
}

/** Facts that a station shows, by the machine itself on the first profile. */
function stationFacts(scenario: Scenario, name: string, checked: Checked): Set<string> {
  const profile = checked.options.profiles[0]
  if (!profile) return new Set()
  const setup = setupOf(scenario, name)
  const machine = machineOf(setup)
  return new Set(Object.keys(machine.facts(setup, profile, machine.start(setup, profile) as never)))
}

export const conditionsRule: Rule = {
  name: 'conditions',
  description: 'Conditions ask for facts that exist, with values that can be.',
  check(checked) {
    const { scenario } = checked
    const out: Finding[] = []
    for (const step of scenario.steps) {
      const station =
        step.kind === 'operate' && scenario.stations[step.station]
          ? stationFacts(scenario, step.station, checked)
          : new Set<string>()
      const acts = step.kind === 'operate' ? step.acts.map((a) => `act.${a.id}`) : []
      const visit = (path: string, condition: unknown): void => {
        if (Array.isArray(condition)) {
          for (const part of condition) visit(path, part)
          return
        }
        const c = condition as { fact?: string; is?: unknown; all?: unknown; any?: unknown; not?: unknown }
        if (c.fact === undefined) {
          for (const part of [c.all, c.any, c.not]) if (part !== undefined) visit(path, part)
          return
        }
        const flag = c.fact.startsWith('flag.') ? c.fact.slice(5) : null
        const values = flag === null ? undefined : scenario.flags[flag]
        if (flag !== null && (!values || ('is' in c && !values.includes(String(c.is)))))
          out.push(
            finding(
              'conditions',
              'error',
              `steps.${step.id}.${path}`,
              `${c.fact} is ${String(c.is)}`,
              values ? `one of ${list(values)}` : 'a flag that is declared',
              'Declare the flag and its values under "flags".',
            ),
          )
        if (
          flag === null &&
          checked.options.profiles.length > 0 &&
          !acts.includes(c.fact) &&
          !station.has(c.fact)
        )
          out.push(
            finding(
              'conditions',
              'error',
              `steps.${step.id}.${path}`,
              `the fact "${c.fact}"`,
              step.kind === 'operate' ? 'a fact of the station, act.<id> or flag.<name>' : 'flag.<name>',
              step.kind === 'operate'
                ? `Here are: ${list([...station, ...acts])}.`
                : 'Only flags can be asked outside an operate step.',
            ),
          )
      }
      for (const { path, condition } of conditionsOf(step)) visit(path, condition)
    }
    return out
  },
}

export const stationsRule: Rule = {
  name: 'stations',
  description: 'Operate steps name stations, controls and acts that exist; set-ups make sense.',
  check({ scenario, options }) {
    const out: Finding[] = []
    const say = (path: string, found: string, expected: string, tip: string) =>
      out.push(finding('stations', 'error', path, found, expected, tip))
    const names = Object.keys(scenario.stations)
    for (const step of scenario.steps) {
      if (step.kind !== 'operate') continue
      const setup = scenario.stations[step.station]
      if (!setup) {
        say(`steps.${step.id}.station`, step.station, `one of ${list(names)}`, 'Declare it under "stations".')
        continue
      }
      const { events } = machineOf(setup)
      for (const control of step.controls ?? [])
        if (!events.includes(control))
          say(`steps.${step.id}.controls`, control, list(events), `These are the events of ${setup.kind}.`)
      for (const watched of step.watch) {
        for (const on of watched.on)
          if (on !== 'act' && !events.includes(on))
            say(
              `steps.${step.id}.watch.${watched.id}.on`,
              on,
              `act, ${list(events)}`,
              'Name an event of the station.',
            )
        for (const on of watched.on)
          if (on !== 'act' && step.controls && !step.controls.includes(on))
            say(
              `steps.${step.id}.watch.${watched.id}.on`,
              `${on}, which can't be used here`,
              list(step.controls),
              'Add it to the controls of the step.',
            )
        const act = watched.with?.act
        if (watched.on.includes('act') && act !== undefined && !step.acts.some((a) => a.id === act))
          say(
            `steps.${step.id}.watch.${watched.id}.with`,
            String(act),
            list(step.acts.map((a) => a.id)),
            'Name an act.',
          )
      }
    }
    for (const [name, setup] of Object.entries(scenario.stations)) {
      if (setup.kind === 'check-in') {
        if (setup.visitor !== null && !setup.lines.some((l) => l.id === setup.visitor))
          say(
            `stations.${name}.visitor`,
            setup.visitor,
            list(setup.lines.map((l) => l.id)),
            'Name a line, or null.',
          )
        for (const line of setup.lines)
          if (!setup.styles.includes(line.style))
            say(
              `stations.${name}.lines.${line.id}.style`,
              line.style,
              list(setup.styles),
              'Lay that style on the table.',
            )
      }
      if (setup.kind === 'ballot-marking')
        for (const contest of setup.contests)
          for (const chosen of contest.chosen)
            if (!contest.choices.some((c) => c.id === chosen) || contest.chosen.length > contest.choose)
              say(
                `stations.${name}.contests.${contest.id}.chosen`,
                list(contest.chosen),
                `at most ${contest.choose} of ${list(contest.choices.map((c) => c.id))}`,
                'Choices already made must be choices of the contest.',
              )
      if (!scenario.steps.some((s) => s.kind === 'operate' && s.station === name))
        out.push(
          finding(
            'stations',
            'warning',
            `stations.${name}`,
            'no step uses it',
            'a step',
            'Use it or take it out.',
          ),
        )
    }
    if (options.profiles.length > 0 && out.every((f) => f.level !== 'error'))
      startScenario(scenario, options.profiles[0]!)
    return out
  },
}
