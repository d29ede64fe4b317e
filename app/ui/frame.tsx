import { getTranslations } from 'next-intl/server'
import type { ReactNode } from 'react'
import { currentActor } from '@/lib/auth/session'
import { switchLanguageAction } from './actions'
import { Mark } from './mark'
import { navigationOf } from './navigation'
import { SignOut } from './sign-out'

/** The frame of every page: who is signed in, where they can go, one main part. */
export async function Page({
  title,
  children,
  narrow = false,
  here,
  crumbs,
  bare = false,
}: {
  title: ReactNode
  children: ReactNode
  narrow?: boolean
  /** The main page that this one belongs to, e.g. "/path". */
  here?: string
  crumbs?: ReactNode
  /** Without the navigation: for playing a lesson or sitting a quiz. */
  bare?: boolean
}) {
  const [t, actor] = await Promise.all([getTranslations('ui'), currentActor()])
  const links = actor && !bare ? navigationOf(actor) : []
  return (
    <>
      <header className="masthead">
        <div className="masthead-inner">
          <a className="brand" href="/">
            <Mark />
            <span>{t('brand')}</span>
          </a>
          {links.length > 0 && (
            <nav aria-label={t('menu')}>
              <ul>
                {links.map((link) => (
                  <li key={link.href}>
                    <a href={link.href} aria-current={here === link.href ? 'page' : undefined}>
                      {t(link.label)}
                    </a>
                  </li>
                ))}
              </ul>
            </nav>
          )}
          <div className="who">
            <form action={switchLanguageAction}>
              <button data-kind="plain" type="submit" lang={t('language') === 'English' ? 'en' : 'es'}>
                {t('language')}
              </button>
            </form>
            {actor && <SignOut label={t(actor.sharedTablet ? 'finished' : 'signOut')} name={actor.name} />}
          </div>
        </div>
      </header>
      <main id="main" className={narrow ? 'page narrow' : 'page'} tabIndex={-1}>
        {crumbs && <p className="crumbs">{crumbs}</p>}
        <h1>{title}</h1>
        {children}
      </main>
      <footer>
        <div className="footer-inner">
          <p>{t('footer')}</p>
        </div>
      </footer>
    </>
  )
}
