'use client'
import { useUiWords } from './ui/words'

export default function ErrorPage({
  error,
  reset,
}: {
  error: Error & { digest?: string }
  reset: () => void
}) {
  const words = useUiWords()
  return (
    <main id="main" className="page narrow">
      <h1>{words.errorTitle}</h1>
      <p className="lead">{words.error.replace('{number}', error.digest ?? '—')}</p>
      <div className="row">
        <button type="button" data-kind="main" onClick={reset}>
          {words.tryAgain}
        </button>
        <a className="button" href="/">
          {words.home}
        </a>
      </div>
    </main>
  )
}
