'use client'
import { useEffect } from 'react'

/** Whoever is about to sign in is nobody yet: copies of training pages with people's names go from this browser. */
export function ForgetKept() {
  useEffect(() => {
    void window.caches?.delete('training-room').catch(() => undefined)
  }, [])
  return null
}
