import { getTranslations } from 'next-intl/server'
import { ActionForm, Tick } from '@/app/ui/action-form'
import { setWantedPositionAction } from './actions'

const SHIFTS = ['full', 'morning', 'afternoon'] as const

/** Which work at the polls the person wants to do, and for which part of the day. */
export async function PositionChoice({
  positions,
  chosen,
  offersShift,
}: {
  positions: { key: string; name: string }[]
  chosen: string | null
  offersShift: string
}) {
  const t = await getTranslations('path')
  return (
    <ActionForm action={setWantedPositionAction}>
      <fieldset>
        <legend>{t('choosePosition')}</legend>
        <p className="hint">{t('choosePositionWhy')}</p>
        {positions.map((position) => (
          <label className="choice" key={position.key}>
            <Tick
              type="radio"
              name="positionKey"
              value={position.key}
              defaultChecked={position.key === chosen}
            />
            {position.name}
          </label>
        ))}
      </fieldset>
      <fieldset>
        <legend>{t('chooseShift')}</legend>
        <p className="hint">{t('chooseShiftWhy')}</p>
        {SHIFTS.map((shift) => (
          <label className="choice" key={shift}>
            <Tick type="radio" name="offersShift" value={shift} defaultChecked={shift === offersShift} />
            {t(`shift.${shift}`)}
          </label>
        ))}
      </fieldset>
      <button type="submit" data-kind={chosen ? undefined : 'main'}>
        {t('savePosition')}
      </button>
    </ActionForm>
  )
}
