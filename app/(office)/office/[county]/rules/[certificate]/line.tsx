import {
  BRACKET,
  choiceKey,
  type EvidenceChoice,
  type RuleLine,
  type RuleProblem,
} from '@/lib/certification/core/rule-form'

const GROUPS: [fact: EvidenceChoice['fact'], words: string, canBeNew: boolean][] = [
  ['lessonFinished', 'A lesson', false],
  ['quizPassed', 'A quiz', false],
  ['checkOff', 'A task by hand, seen by a trainer', true],
  ['classAttended', 'A class in a room', true],
  ['oathSworn', 'The oath', false],
  ['served', 'Service at an election', false],
  ['earlierTraining', 'Training before the county moved here', false],
]
const NEW_WORDS: Partial<Record<EvidenceChoice['fact'], string>> = {
  checkOff: 'another task by hand (write it below)',
  classAttended: 'another class (write it below)',
}

const WINDOWS: [RuleLine['window'], string][] = [
  ['always', 'it counts for good'],
  ['months', 'it counts so many months'],
  ['fixedDate', 'it counts until a date'],
  ['daysBeforeElection', 'done at most so many days before the election'],
  ['monthsBeforeElection', 'done at most so many months before the election'],
  ['sameElection', 'done for this election'],
  ['untilEndOfNextCycle', 'it counts to the end of the next cycle'],
  ['afterCycle', 'it counts to some months after its cycle'],
]

const Wrong = ({ id, message }: { id: string; message: string | undefined }) =>
  message ? (
    <p className="field-error" id={`${id}-error`}>
      {message}
    </p>
  ) : null

/** One line of the rule, readable as a part of its sentence. Which fields it shows follows from the choices, by CSS
 *  alone (rules.css). */
export function Line({
  i,
  line,
  name,
  above,
  canMoveIn,
  form,
  choices,
  profiles,
  problems,
}: {
  i: number
  line: RuleLine
  /** `2.1`, as the line is called. */
  name: string
  /** The line before it on its level; null: it is the first there. */
  above: string | null
  canMoveIn: boolean
  /** The form's address: a button comes back to its line. */
  form: string
  choices: EvidenceChoice[]
  profiles: string[]
  problems: RuleProblem[]
}) {
  type Field = Exclude<keyof RuleLine, 'level'>
  const id = (field: Field) => `line-${i}-${field}`
  const wrong = (field: Field) => problems.find((p) => p.line === i && p.field === field)?.message
  const button = (change: string, to = i) => ({
    type: 'submit' as const,
    name: 'do',
    value: `${change}-${i}`,
    formAction: `${form}#line-${to}`,
  })
  const common = (field: Field) => ({
    id: id(field),
    name: `${i}.${field}`,
    defaultValue: line[field],
    'aria-invalid': wrong(field) ? (true as const) : undefined,
    'aria-describedby': wrong(field) ? `${id(field)}-error` : undefined,
  })
  return (
    <fieldset className="rule-line panel" id={`line-${i}`}>
      <legend>Line {name}</legend>
      <input type="hidden" name={`${i}.level`} value={line.level} />
      <div className="field for-need">
        <label htmlFor={id('need')}>How many of the lines joined by “or” are enough?</label>
        <input {...common('need')} inputMode="numeric" className="narrow-input" />
        <Wrong id={id('need')} message={wrong('need')} />
      </div>
      {above && (
        <div className="field">
          <label htmlFor={id('join')}>Joined to line {above} by</label>
          <select {...common('join')}>
            <option value="and">and</option>
            <option value="or">or</option>
          </select>
        </div>
      )}
      <div className="field">
        <label htmlFor={id('what')}>What</label>
        <select {...common('what')}>
          <option value="">choose…</option>
          <option value={BRACKET}>several lines taken together, inside this one</option>
          {GROUPS.map(([fact, words, canBeNew]) => (
            <optgroup label={words} key={fact}>
              {choices
                .filter((choice) => choice.fact === fact)
                .map((choice) => (
                  <option key={choiceKey(choice)} value={choiceKey(choice)}>
                    {choice.label.en}
                  </option>
                ))}
              {canBeNew && <option value={`${fact}:*`}>{NEW_WORDS[fact]}</option>}
            </optgroup>
          ))}
        </select>
        <Wrong id={id('what')} message={wrong('what')} />
      </div>
      <div className="field for-score">
        <label htmlFor={id('score')}>With at least, in percent (empty: as the quiz itself asks)</label>
        <input {...common('score')} inputMode="decimal" className="narrow-input" />
        <Wrong id={id('score')} message={wrong('score')} />
      </div>
      <div className="field for-equipment">
        <label htmlFor={id('equipment')}>On which equipment</label>
        <select {...common('equipment')}>
          <option value="">on any</option>
          <option value="inUse">on equipment that the county still uses</option>
          {profiles.map((profile) => (
            <option key={profile} value={profile}>
              on {profile}
            </option>
          ))}
        </select>
      </div>
      <div className="field for-evidence">
        <label htmlFor={id('window')}>How long</label>
        <select {...common('window')}>
          {WINDOWS.map(([kind, words]) => (
            <option key={kind} value={kind}>
              {words}
            </option>
          ))}
        </select>
      </div>
      <div className="field for-number">
        <label htmlFor={id('number')}>
          <span className="as-months">Months</span>
          <span className="as-days">Days</span>
          <span className="as-cycle">Length of a cycle, in months</span>
        </label>
        <input {...common('number')} inputMode="numeric" className="narrow-input" />
        <Wrong id={id('number')} message={wrong('number')} />
      </div>
      <div className="field for-date">
        <label htmlFor={id('date')}>
          <span className="as-end">First day on which it no longer counts</span>
          <span className="as-cycle">First day of a cycle</span>
        </label>
        <input {...common('date')} type="date" />
        <Wrong id={id('date')} message={wrong('date')} />
      </div>
      <div className="field for-plus">
        <label htmlFor={id('plus')}>Months after the end of the cycle</label>
        <input {...common('plus')} inputMode="numeric" className="narrow-input" />
        <Wrong id={id('plus')} message={wrong('plus')} />
      </div>
      <details
        className="more for-evidence"
        open={line.what.endsWith(':*') || Boolean(wrong('labelEn') ?? wrong('labelEs')) || undefined}
      >
        <summary>
          Your own words for it<span className="only-heard">, line {name}</span>
        </summary>
        <div className="field">
          <label htmlFor={id('labelEn')}>English</label>
          <input {...common('labelEn')} />
          <Wrong id={id('labelEn')} message={wrong('labelEn')} />
        </div>
        <div className="field">
          <label htmlFor={id('labelEs')}>Spanish</label>
          <input {...common('labelEs')} lang="es" />
          <Wrong id={id('labelEs')} message={wrong('labelEs')} />
        </div>
      </details>
      <p className="row rule-buttons">
        <button {...button('inside')} className="for-bracket" data-kind="main">
          Add a line inside {name}
        </button>
        {canMoveIn && <button {...button('in')}>Move {name} one step in</button>}
        {line.level > 0 && <button {...button('out')}>Move {name} one step out</button>}
        <button {...button('remove', Math.max(0, i - 1))}>Take line {name} out</button>
      </p>
    </fieldset>
  )
}
