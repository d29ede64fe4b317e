/** Seals and logs: compare each seal with the log, print the reports, reconcile the day's counts, sign, call the lead.
 *  Reconciliation (common practice): every ballot or card that was received is unused, spoiled, provisional or scanned. */
import type { SetupOf } from '../../schema'
import { defineMachine, type StationEvent } from './machine'

export interface SealsState {
  /** Verdict on each seal, by id. */
  verdicts: Record<string, 'same' | 'differs'>
  printed: string[]
  /** Difference that the trainee entered: received − (unused + spoiled + provisional + scanned). */
  difference: number | null
  signed: boolean
  lead: boolean
}

type Setup = SetupOf<'seals'>

/** Received − (unused + spoiled + provisional + scanned): 0 when all are accounted for, positive when some are
 *  missing, negative when there are too many. In pieces. */
export const unaccounted = (counts: NonNullable<Setup['counts']>): number =>
  counts.received - counts.unused - counts.spoiled - counts.provisional - counts.scanned

const LARGEST_ENTRY = 9_999

export const seals = defineMachine<'seals', SealsState>({
  kind: 'seals',
  events: ['compare', 'print-report', 'enter-difference', 'sign', 'call-lead'],

  start: () => ({ verdicts: {}, printed: [], difference: null, signed: false, lead: false }),

  apply(setup, _profile, state, event) {
    switch (event.type) {
      case 'compare': {
        const seal = setup.seals.find((s) => s.id === event.seal)
        const verdict = event.verdict
        return seal && (verdict === 'same' || verdict === 'differs') && state.verdicts[seal.id] !== verdict
          ? { ...state, verdicts: { ...state.verdicts, [seal.id]: verdict } }
          : null
      }
      case 'print-report': {
        const report = setup.reports.find((r) => r.id === event.report)
        return report && !state.printed.includes(report.id)
          ? { ...state, printed: [...state.printed, report.id].sort() }
          : null
      }
      case 'enter-difference': {
        const value = event.value
        const fits = typeof value === 'number' && Number.isInteger(value) && Math.abs(value) <= LARGEST_ENTRY
        return setup.counts && fits && value !== state.difference ? { ...state, difference: value } : null
      }
      case 'sign':
        return state.signed ? null : { ...state, signed: true }
      case 'call-lead':
        return state.lead ? null : { ...state, lead: true }
      default:
        return null
    }
  },

  facts(setup, _profile, state) {
    const truth = (s: Setup['seals'][number]) => (s.logged === s.onSeal ? 'same' : 'differs')
    const compared = setup.seals.filter((s) => state.verdicts[s.id])
    return {
      compared: compared.length,
      'all-compared': compared.length === setup.seals.length,
      'wrong-verdicts': compared.filter((s) => state.verdicts[s.id] !== truth(s)).length,
      'all-seals-right': setup.seals.every((s) => state.verdicts[s.id] === truth(s)),
      'some-seal-differs': setup.seals.some((s) => truth(s) === 'differs'),
      'printed.opening': state.printed.includes('opening'),
      'printed.closing': state.printed.includes('closing'),
      entered: state.difference !== null,
      difference: state.difference ?? 0,
      'difference-right': setup.counts !== undefined && state.difference === unaccounted(setup.counts),
      signed: state.signed,
      lead: state.lead,
    }
  },

  moves(setup, _profile, state) {
    const moves: StationEvent[] = []
    for (const seal of setup.seals)
      for (const verdict of ['same', 'differs'])
        if (state.verdicts[seal.id] !== verdict) moves.push({ type: 'compare', seal: seal.id, verdict })
    for (const report of setup.reports)
      if (!state.printed.includes(report.id)) moves.push({ type: 'print-report', report: report.id })
    if (setup.counts) {
      const right = unaccounted(setup.counts)
      // The right figure and the commonest slip (spoiled ballots left out) stand for all that could be typed.
      for (const value of new Set([right, right + setup.counts.spoiled, right + 1]))
        if (value !== state.difference) moves.push({ type: 'enter-difference', value })
    }
    if (!state.signed) moves.push({ type: 'sign' })
    if (!state.lead) moves.push({ type: 'call-lead' })
    return moves
  },
})
