import type { HistoryEntry } from '@/lib/people/queries-history'
import { SHIFT_WORDS } from '@/lib/roster/words'
import { dateText } from '../../../../parts/words'

const FACT_WORDS: Record<string, string> = {
  lessonFinished: 'finished the lesson',
  quizPassed: 'passed the quiz',
  checkOff: 'checked off by a trainer',
  checkOffToRepeat: 'tried by hand, to repeat',
  classAttended: 'attended the class',
  oathSworn: 'swore the oath',
  served: 'served as',
  earlierTraining: 'was trained before, as',
  revocation: 'a record was taken back',
  certificateRevoked: 'the certificate was revoked:',
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

function wordsOf(entry: HistoryEntry): string {
  switch (entry.kind) {
    case 'fact':
      return `${FACT_WORDS[entry.fact] ?? entry.fact} ${entry.fact === 'revocation' ? `(${entry.topic})` : entry.topic}${percent(entry.scoreFraction)}${entry.equipmentProfile ? ` on ${entry.equipmentProfile}` : ''}`
    case 'attempt':
      return `${entry.what} ${entry.key}: ${
        !entry.finished
          ? 'begun'
          : entry.what === 'quiz'
            ? (entry.passed ? 'passed' : 'not passed')
            : 'finished'
      }${percent(entry.scoreFraction)}`
    case 'seat':
      return `${entry.position} at ${entry.place}, ${SHIFT_WORDS[entry.shift]} (${entry.election}${entry.published ? '' : ', draft'})`
    case 'class':
      return `${entry.topic}: ${entry.cancelled ? 'given up' : entry.signedIn ? 'signed in' : 'booked'}`
    case 'call':
      return `${entry.outcome}${entry.note ? `: ${entry.note}` : ''} (${entry.by})`
    case 'note':
      return `${entry.text} (${entry.by})`
  }
}

/** Everything that happened to a person, newest first. */
export const Timeline = ({ entries }: { entries: HistoryEntry[] }) =>
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
            <span className={takenBack ? 'revoked' : undefined}>{wordsOf(entry)}</span>
            {takenBack && ' (taken back)'}
          </li>
        )
      })}
    </ol>
  )
