import { notFound } from 'next/navigation'
import { ActionForm } from '@/app/ui/action-form'
import { Page } from '@/app/ui/frame'
import { currentTablet } from '@/lib/auth/request-meta'
import { requireActor } from '@/lib/auth/session'
import { mayLendTablet, TABLET_DAYS } from '@/lib/auth/tablet'
import { tabletOffAction, tabletOnAction } from './actions'

export const metadata = { title: 'Shared tablet' }

export default async function TabletPage() {
  const actor = await requireActor('/tablet')
  if (!mayLendTablet(actor)) notFound()
  const tablet = await currentTablet()
  return (
    <Page title={<span lang="en">Shared tablet for a training room</span>} narrow>
      <div lang="en">
        {tablet ? (
          <ActionForm action={tabletOffAction} className="panel">
            <p>This device is a shared tablet. Poll workers sign in on it by card, one after another.</p>
            <button type="submit">Make it an ordinary device again</button>
          </ActionForm>
        ) : (
          <ActionForm action={tabletOnAction} className="panel">
            <p>Turn this on, on the tablet itself, before you hand it out:</p>
            <ul>
              <li>Poll workers sign in on it by the code of their card only.</li>
              <li>“I am finished” ends their sign-in and clears what the pages kept on the tablet.</li>
              <li>A sign-in that lies for half an hour ends by itself.</li>
              <li>
                You are signed out here. It lasts {TABLET_DAYS} days, or until you turn it off on this page.
              </li>
            </ul>
            <button type="submit" data-kind="main">
              Make this a shared tablet
            </button>
          </ActionForm>
        )}
      </div>
    </Page>
  )
}
