'use client'

import { useEffect, useState } from 'react'
import type { Locale } from '@/lib/scenarios/schema'
import type { PlayStrings } from './words/en'

/** Reads a text aloud with the browser's own voice. Shown only where the browser has one. */
export function Listen({ text, locale, strings }: { text: string; locale: Locale; strings: PlayStrings }) {
  const [ready, setReady] = useState(false)
  const [speaking, setSpeaking] = useState(false)
  useEffect(() => {
    setReady('speechSynthesis' in window)
  }, [])
  // A new text or leaving the page ends the voice.
  // biome-ignore lint/correctness/useExhaustiveDependencies: the text is the reason to stop
  useEffect(() => {
    return () => {
      if ('speechSynthesis' in window) window.speechSynthesis.cancel()
      setSpeaking(false)
    }
  }, [text])
  if (!ready) return null
  const toggle = () => {
    const voice = window.speechSynthesis
    voice.cancel()
    if (speaking) {
      setSpeaking(false)
      return
    }
    const said = new SpeechSynthesisUtterance(text)
    said.lang = locale === 'es' ? 'es-US' : 'en-US'
    said.onend = () => setSpeaking(false)
    said.onerror = () => setSpeaking(false)
    voice.speak(said)
    setSpeaking(true)
  }
  return (
    <button type="button" className="play-small" aria-pressed={speaking} onClick={toggle}>
      <svg aria-hidden="true" viewBox="0 0 24 24" width="20" height="20">
        {speaking ? (
          <rect x="6" y="6" width="12" height="12" rx="2" fill="currentColor" />
        ) : (
          <path d="M4 9v6h4l5 4V5L8 9H4zm12.5 3a4 4 0 0 0-2-3.5v7a4 4 0 0 0 2-3.5z" fill="currentColor" />
        )}
      </svg>
      {speaking ? strings.stopListening : strings.listen}
    </button>
  )
}
