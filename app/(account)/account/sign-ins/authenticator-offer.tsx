'use client'
import { Field, useOutcome } from '@/app/ui/action-form'

interface Offer {
  sealed: string
  key: string
  picture: string
}

/** The begin button, or what was just offered. */
export function AuthenticatorOffer({ replaces }: { replaces: boolean }) {
  const outcome = useOutcome()
  const offer = outcome.status === 'done' ? (outcome.value as Offer | undefined) : undefined
  if (!offer)
    return (
      <button type="submit">{replaces ? 'Set up another authenticator' : 'Set up an authenticator'}</button>
    )
  return (
    <>
      <p>1. Scan this picture with the app, or type the key into it.</p>
      {/* biome-ignore lint/performance/noImgElement: a data address, nothing to optimise */}
      <img
        src={offer.picture}
        alt="QR code for the authenticator app. The key below says the same."
        width={240}
        height={240}
      />
      <p>
        Key: <code>{offer.key.replace(/(.{4})(?=.)/g, '$1 ')}</code>
      </p>
      <input type="hidden" name="sealed" value={offer.sealed} />
      <p>2. Type the code that the app shows now, and your password.</p>
      <Field
        name="code"
        label="6 digits from the app"
        inputMode="numeric"
        autoComplete="one-time-code"
        maxLength={10}
      />
      <Field
        name="password"
        label="Your password"
        type="password"
        autoComplete="current-password"
        maxLength={500}
      />
      <button type="submit" data-kind="main">
        Turn the authenticator on
      </button>
    </>
  )
}
