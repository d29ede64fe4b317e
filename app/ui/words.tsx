'use client'
import { createContext, type ReactNode, useContext } from 'react'

/** The few words that client components of every page say. The rest is written by the server, so that no phone loads a
 *  message formatter. */
export interface UiWords {
  working: string
  errorTitle: string
  /** With `{number}` for the failure's number. */
  error: string
  tryAgain: string
  home: string
}

const Words = createContext<UiWords | null>(null)

export const UiWordsProvider = ({ words, children }: { words: UiWords; children: ReactNode }) => (
  <Words value={words}>{children}</Words>
)

export function useUiWords(): UiWords {
  const words = useContext(Words)
  if (!words) throw new Error('UiWordsProvider is missing above this component')
  return words
}
