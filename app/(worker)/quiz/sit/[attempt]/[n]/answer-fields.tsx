import { getTranslations } from 'next-intl/server'
import type { FormQuestion } from '@/lib/assessment/queries'
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
      <input type={type} name="chosen[]" value={option.id} defaultChecked={chosen.includes(option.id)} />
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
              <select
                id={`place-${item.id}`}
                name={`place-${item.id}`}
                aria-label={t('placeOf', { text: item.text })}
                defaultValue={chosen.includes(item.id) ? chosen.indexOf(item.id) + 1 : ''}
              >
                <option value="">{t('noPlace')}</option>
                {shown.items.map((other, place) => (
                  <option key={other.id} value={place + 1}>
                    {place + 1}
                  </option>
                ))}
              </select>
            </div>
          ))}
        </fieldset>
      )
    case 'number':
      return (
        <div className="field">
          <label htmlFor="number">
            {t('yourNumber')} ({shown.unit})
          </label>
          <p className="hint" id="number-hint">
            {t('enterNumber')}
          </p>
          <input
            id="number"
            name="number"
            inputMode="numeric"
            autoComplete="off"
            aria-describedby="number-hint"
            defaultValue={chosen[0] ?? ''}
          />
        </div>
      )
  }
}
