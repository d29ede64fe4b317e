import { getTranslations } from 'next-intl/server'
import { ActionForm, Tick } from '@/app/ui/action-form'
import { setWantedPositionAction } from './actions'

/** Which work at the polls the person wants to do. */
export async function PositionChoice({
  positions,
  chosen,
}: {
  positions: { key: string; name: string }[]
  chosen: string | null
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
      <button type="submit" data-kind={chosen ? undefined : 'main'}>
        {t('savePosition')}
      </button>
    </ActionForm>
  )
}
