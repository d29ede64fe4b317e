import { getTranslations } from 'next-intl/server'
import { ActionForm, Tick } from '@/app/ui/action-form'
import { Page } from '@/app/ui/frame'
import { requireActor } from '@/lib/auth/session'
import { mayLendTablet } from '@/lib/auth/tablet'
import { preferences, TEXT_SIZES, THEMES } from '@/lib/web/preferences'
import { savePreferencesAction } from './actions'

const Choices = ({
  legend,
  name,
  chosen,
  options,
}: {
  legend: string
  name: string
  chosen: string
  options: { value: string; label: string; lang?: string }[]
}) => (
  <fieldset>
    <legend>{legend}</legend>
    {options.map((option) => (
      <label className="choice" key={option.value} lang={option.lang}>
        <Tick type="radio" name={name} value={option.value} defaultChecked={option.value === chosen} />
        {option.label}
      </label>
    ))}
  </fieldset>
)

export default async function AccountPage() {
  const actor = await requireActor()
  const [t, signIn, now] = await Promise.all([
    getTranslations('account'),
    getTranslations('sign-in'),
    preferences(),
  ])
  return (
    <Page title={t('title')} here="/account" narrow>
      <ActionForm action={savePreferencesAction} className="panel">
        <Choices
          legend={t('language')}
          name="locale"
          chosen={now.locale}
          options={[
            { value: 'en', label: t('english'), lang: 'en' },
            { value: 'es', label: t('spanish'), lang: 'es' },
          ]}
        />
        <Choices
          legend={t('textSize')}
          name="textSize"
          chosen={now.textSize}
          options={TEXT_SIZES.map((value) => ({ value, label: t(`sizes.${value}`) }))}
        />
        <Choices
          legend={t('theme')}
          name="theme"
          chosen={now.theme}
          options={THEMES.map((value) => ({ value, label: t(`themes.${value}`) }))}
        />
        <button type="submit" data-kind="main">
          {t('save')}
        </button>
      </ActionForm>
      <p>
        <a href="/account/sign-ins">{signIn('mineTitle')}</a>
      </p>
      {mayLendTablet(actor) && (
        <p>
          <a href="/tablet" lang="en">
            Make this a shared tablet for a training room
          </a>
        </p>
      )}
    </Page>
  )
}
