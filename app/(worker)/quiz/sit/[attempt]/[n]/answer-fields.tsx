import { getTranslations } from 'next-intl/server'
import { Field, Tick } from '@/app/ui/action-form'
import type { FormQuestion } from '@/lib/assessment/queries'
import { RankSelect } from './rank-select'
import { RoomPlan } from './room-plan'

const Choices = ({
  type,
  options,
  chosen,
  numbered = false,
}: {
  type: 'radio' | 'checkbox'
  options: { id: string; text: string }[]
  chosen: string[]
  numbered?: boolean
}) =>
  options.map((option, i) => (
    <label className="choice" key={option.id}>
      <Tick type={type} name="chosen[]" value={option.id} defaultChecked={chosen.includes(option.id)} />
      <span>
        {numbered && <strong>{i + 1}. </strong>}
        {option.text}
      </span>
    </label>
  ))

/** The fields of one question: plain inputs that work without JavaScript. */
export async function AnswerFields({ question }: { question: FormQuestion }) {
  const t = await getTranslations('quiz')
  const { shown, chosen } = question
  switch (shown.kind) {
    case 'single':
    case 'several':
      return (
        <fieldset>
          <legend>{t(shown.kind === 'single' ? 'chooseOne' : 'chooseSeveral')}</legend>
          <Choices
            type={shown.kind === 'single' ? 'radio' : 'checkbox'}
            options={shown.options}
            chosen={chosen}
          />
        </fieldset>
      )
    case 'picture-areas':
      return (
        <fieldset>
          <legend>{t('markAreas')}</legend>
          <RoomPlan areas={shown.areas} fixtures={shown.fixtures} />
          <Choices type="checkbox" options={shown.areas} chosen={chosen} numbered />
        </fieldset>
      )
    case 'order':
      return (
        <fieldset>
          <legend>{t('putInOrder')}</legend>
          {shown.items.map((item) => (
            <div className="rank-row" key={item.id}>
              <label htmlFor={`place-${item.id}`}>{item.text}</label>
              <RankSelect
                name={`place-${item.id}`}
                label={t('placeOf', { text: item.text })}
                none={t('noPlace')}
                places={shown.items.length}
                chosen={chosen.includes(item.id) ? String(chosen.indexOf(item.id) + 1) : ''}
              />
            </div>
          ))}
        </fieldset>
      )
    case 'number':
      return (
        <Field
          name="number"
          label={`${t('yourNumber')} (${shown.unit})`}
          hint={t('enterNumber')}
          defaultValue={chosen[0] ?? ''}
          inputMode="decimal"
          autoComplete="off"
        />
      )
  }
}
