import { getTranslations } from 'next-intl/server'
import { Tag } from '@/app/ui/notice'
import type { MyClass } from '@/lib/classes/queries-classes'
import { dateInWords } from '@/lib/kernel/date-words'
import type { CivilDate } from '@/lib/kernel/dates'
import type { Locale } from '@/lib/kernel/wording'
import type { PathStep } from '@/lib/path/queries'
import { StepMark } from './step-mark'

/** The picture of the path: each step with its state in words, its date, and a way in where there is one. */
export async function Steps({
  steps,
  next,
  today,
  locale,
  booked,
}: {
  steps: PathStep[]
  next: PathStep | null
  today: CivilDate
  locale: Locale
  /** Classes in which the person has a seat or waits for one. */
  booked: MyClass[]
}) {
  const t = await getTranslations('path')
  const said = (step: PathStep): string | null => {
    const date = step.doneOn ? dateInWords(step.doneOn, locale) : ''
    if (step.done) return date ? t('doneOn', { date }) : null
    switch (step.reason) {
      case 'lapsed':
      case 'outsideElectionTime':
        return t('lapsed', { date })
      case 'equipmentChanged':
        return t('equipmentChanged', { date })
      case 'revoked':
        return t('revoked')
      case 'scoreTooLow':
        return t('scoreTooLow')
      case 'missing':
        return null
      default:
        return t('again')
    }
  }
  return (
    <ol className="path-steps">
      {steps.map((step, i) => {
        const state = step.done ? 'done' : step === next ? 'next' : 'open'
        const words = said(step)
        const held =
          !step.done && step.kind === 'classAttended' ? booked.find((c) => c.topic === step.topic) : undefined
        const first = step.choice !== null && steps[i - 1]?.choice !== step.choice
        return (
          <li key={`${step.kind} ${step.topic}`} data-done={step.done || undefined}>
            <StepMark state={state} />
            <div className="what">
              {first && <p className="small quiet">{t('oneOf')}</p>}
              <p>
                <strong>{step.label}</strong>
              </p>
              <p>
                {state === 'done' && <Tag kind="good">✓ {t('done')}</Tag>}
                {state === 'next' && <Tag>→ {t('nextStep')}</Tag>}
                {state === 'open' && <Tag kind="warn">○ {t('open')}</Tag>}
              </p>
              {words && <p className="small">{words}</p>}
              {held && (
                <p className="small">
                  <a href={`/classes/${held.id}`}>
                    {t(held.mine?.state === 'waiting' ? 'classWaiting' : 'classBooked', { when: held.when })}
                  </a>
                </p>
              )}
              {!step.done && !held && step.kind === 'classAttended' && (
                <p className="small">
                  <a href={`/classes?topic=${step.topic}`}>{t('classChoose')}</a>
                </p>
              )}
              {!step.done && step.doFrom && step.doFrom > today && (
                <p className="small">{t('countsFrom', { date: dateInWords(step.doFrom, locale) })}</p>
              )}
            </div>
          </li>
        )
      })}
    </ol>
  )
}
