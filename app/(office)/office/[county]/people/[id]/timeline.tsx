import type { HistoryEntry } from '@/lib/people/queries-history'
import { SHIFT_WORDS } from '@/lib/roster/words'
import { dateText } from '../../../../parts/words'
import { profileNames } from '../../places/profiles'

const FACT_WORDS: Record<string, string> = {
  lessonFinished: 'lesson finished',
  quizPassed: 'quiz passed',
  checkOff: 'checked off by a trainer',
  checkOffToRepeat: 'tried by hand, to repeat',
  classAttended: 'class attended',
  oathSworn: 'oath sworn',
  served: 'served',
  earlierTraining: 'trained before, elsewhere',
  revocation: 'a record was taken back',
  certificateRevoked: 'certificate revoked',
}
const KIND_WORDS: Record<HistoryEntry['kind'], string> = {
  fact: 'On record',
  attempt: 'Training',
  seat: 'Roster',
  class: 'Class',
  call: 'Call',
  note: 'Note',
}
const percent = (share: number | null) => (share === null ? '' : `, ${Math.round(share * 100)} %`)

/** The lesson, quiz, work or position that a record names by a key. Of a record to repeat, what it tried. */
const named = (names: ReadonlyMap<string, string>, fact: string, topic: string) =>
  names.get(`${fact === 'checkOffToRepeat' ? 'checkOff' : fact} ${topic}`) ?? topic

function wordsOf(entry: HistoryEntry, names: ReadonlyMap<string, string>): string {
  const equipment = new Map(profileNames())
  switch (entry.kind) {
    case 'fact':
      return `${FACT_WORDS[entry.fact] ?? entry.fact}: ${named(names, entry.fact, entry.topic)}${percent(entry.scoreFraction)}${entry.equipmentProfile ? ` (${equipment.get(entry.equipmentProfile) ?? entry.equipmentProfile})` : ''}`
    case 'attempt':
      return `${entry.what} “${named(names, entry.what === 'quiz' ? 'quizPassed' : 'lessonFinished', entry.key)}”: ${
        !entry.finished
          ? 'begun'
          : entry.what === 'quiz'
            ? (entry.passed ? 'passed' : 'not passed')
            : 'finished'
      }${percent(entry.scoreFraction)}`
    case 'seat':
      return `${entry.position} at ${entry.place}, ${SHIFT_WORDS[entry.shift]} (${entry.election}${entry.published ? '' : ', draft'})`
    case 'class':
      return `${named(names, 'classAttended', entry.topic)}: ${entry.cancelled ? 'given up' : entry.signedIn ? 'signed in' : 'booked'}`
    case 'call':
      return `${entry.outcome}${entry.note ? `: ${entry.note}` : ''} (${entry.by})`
    case 'note':
      return `${entry.text} (${entry.by})`
  }
}

/** Everything that happened to a person, newest first. */
export const Timeline = ({
  entries,
  names,
}: {
  entries: HistoryEntry[]
  /** `fact topic` → its name. */
  names: ReadonlyMap<string, string>
}) =>
  entries.length === 0 ? (
    <p className="quiet">Nothing is on record yet.</p>
  ) : (
    <ol className="timeline">
      {entries.map((entry) => {
        const takenBack = entry.kind === 'fact' && entry.takenBack
        return (
          <li key={entry.id}>
            <time dateTime={entry.on}>{dateText(entry.on)}</time>{' '}
            <span className="entry-kind">{KIND_WORDS[entry.kind]}</span>{' '}
            <span className={takenBack ? 'revoked' : undefined}>{wordsOf(entry, names)}</span>
            {takenBack && ' (taken back)'}
          </li>
        )
      })}
    </ol>
  )
