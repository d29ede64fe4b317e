'use client'

import { useId, useState } from 'react'
import type { SealsState } from '@/lib/scenarios/core/stations/seals'
import { Action, Group, type StationProps, type StationView } from './parts'

type Props = StationProps<'seals', SealsState>

function lines(props: Props): string[] {
  const { setup, state, strings } = props
  const t = strings.seals
  return [
    ...setup.seals
      .filter((s) => state.verdicts[s.id])
      .map((s) => `${props.text(`station.${s.label}`)}: ${t.verdict[state.verdicts[s.id]!]}`),
    ...setup.reports.filter((r) => state.printed.includes(r.id)).map((r) => t.report[r.id]!(r.counter)),
    ...(state.difference === null ? [] : [t.written(state.difference)]),
    ...(state.signed ? [t.signed] : []),
    ...(state.lead ? [t.leadHere] : []),
  ]
}

function Drawing({ setup, state }: Props) {
  return (
    <svg className="play-drawing" viewBox="0 0 240 120" aria-hidden="true">
      <rect x="20" y="10" width="92" height="100" className="play-card" />
      {setup.seals.map((seal, i) => (
        <g key={seal.id}>
          <path d={`M30 ${26 + i * 11}h54`} className="play-line" />
          {state.verdicts[seal.id] === 'same' ? (
            <path d={`M92 ${25 + i * 11}l4 4 8 -8`} className="play-line play-line-strong" />
          ) : null}
          {state.verdicts[seal.id] === 'differs' ? (
            <path d={`M92 ${21 + i * 11}l9 9m0 -9l-9 9`} className="play-line play-line-strong" />
          ) : null}
        </g>
      ))}
      {state.signed ? (
        <path d="M34 102c8-14 10 8 18-2s10 4 24 0" className="play-line play-line-strong" />
      ) : null}
      <rect x="136" y="44" width="84" height="66" rx="4" className="play-body" />
      <path d="M148 44v-8a30 22 0 0 1 60 0v8" className="play-cord" />
      <rect x="166" y="36" width="24" height="16" rx="3" className="play-mark" />
    </svg>
  )
}

function Controls(props: Props) {
  const { setup, state, strings } = props
  const t = strings.seals
  return (
    <>
      {setup.seals.map((seal) => {
        const label = props.text(`station.${seal.label}`)
        return (
          <div key={seal.id} className="play-pair">
            <p>
              <strong>{label}</strong>
            </p>
            <dl>
              <dt>{t.log}</dt>
              <dd>{seal.logged}</dd>
              <dt>{t.onSeal}</dt>
              <dd>{seal.onSeal}</dd>
            </dl>
            <Group>
              {(['same', 'differs'] as const).map((verdict) => (
                <Action
                  key={verdict}
                  event={{ type: 'compare', seal: seal.id, verdict }}
                  label={t[verdict](label)}
                  can={state.verdicts[seal.id] !== verdict}
                  pressed={state.verdicts[seal.id] === verdict}
                  props={props}
                />
              ))}
            </Group>
          </div>
        )
      })}
      {setup.counts ? (
        <dl className="play-counts">
          {Object.entries(setup.counts).map(([name, n]) => (
            <div key={name}>
              <dt>{t.counts[name]}</dt>
              <dd>{n}</dd>
            </div>
          ))}
        </dl>
      ) : null}
      {setup.counts && props.allowed('enter-difference') ? <Difference {...props} /> : null}
      <Group>
        {setup.reports.map((report) => (
          <Action
            key={report.id}
            event={{ type: 'print-report', report: report.id }}
            label={t.print[report.id]!}
            can={!state.printed.includes(report.id)}
            props={props}
          />
        ))}
        <Action event={{ type: 'sign' }} label={t.sign} can={!state.signed} props={props} />
        <Action event={{ type: 'call-lead' }} label={t.lead} can={!state.lead} props={props} />
      </Group>
    </>
  )
}

function Difference(props: Props) {
  const { state, strings, locked, send } = props
  const t = strings.seals
  const id = useId()
  const [entry, setEntry] = useState(state.difference === null ? '' : String(state.difference))
  const value = Number.parseInt(entry, 10)
  const can = /^-?\d{1,4}$/.test(entry.trim()) && value !== state.difference
  return (
    <div className="play-entry">
      <label htmlFor={id}>
        {t.difference}
        <span className="play-soft"> ({t.formula})</span>
      </label>
      <input
        id={id}
        inputMode="numeric"
        autoComplete="off"
        value={entry}
        onChange={(e) => setEntry(e.target.value)}
        data-difference
      />
      <button
        type="button"
        className="play-action play-action-main"
        aria-disabled={!can || locked}
        data-enter-difference
        onClick={() => can && !locked && send({ type: 'enter-difference', value })}
      >
        {t.enter}
      </button>
    </div>
  )
}

export const sealsView: StationView<'seals', SealsState> = { lines, Drawing, Controls }
