'use client'
import { type ReactNode, useEffect, useRef } from 'react'

const STEPS: Record<string, [number, number]> = {
  ArrowRight: [1, 0],
  ArrowLeft: [-1, 0],
  ArrowDown: [0, 1],
  ArrowUp: [0, -1],
}

/** Arrow keys on the map go to the nearest place in that direction; a place lights up together with whatever else on the
 *  page is about it. The links work without this. */
export function MapKeys({ children }: { children: ReactNode }) {
  const box = useRef<HTMLDivElement>(null)
  useEffect(() => {
    const map = box.current!
    const marks = () => [...map.querySelectorAll<SVGAElement>('a[data-x]')]
    // One stop for the Tab key, wherever the arrows have gone.
    const stopAt = (mark: SVGAElement) => {
      for (const other of marks()) other.setAttribute('tabindex', other === mark ? '0' : '-1')
    }
    const first = marks().find((m) => m.getAttribute('tabindex') === '0') ?? marks()[0]
    if (first) stopAt(first)
    const onKey = (event: KeyboardEvent) => {
      const step = STEPS[event.key]
      const from = (event.target as Element).closest<SVGAElement>('a[data-x]')
      if (!step || !from) return
      event.preventDefault()
      const [x, y] = placeOf(from)
      let best: { mark: SVGAElement; far: number } | null = null
      for (const mark of marks()) {
        const [dx, dy] = [placeOf(mark)[0] - x, placeOf(mark)[1] - y]
        const along = dx * step[0] + dy * step[1]
        const across = Math.abs(dx * step[1]) + Math.abs(dy * step[0])
        if (along <= 0 || across > along * 1.5) continue
        const far = along + 2 * across
        if (!best || far < best.far) best = { mark, far }
      }
      if (!best) return
      stopAt(best.mark)
      best.mark.focus()
    }
    const light = (event: Event) => {
      const place = (event.target as Element).closest?.('[data-place]')?.getAttribute('data-place')
      for (const lit of document.querySelectorAll('[data-lit]')) lit.removeAttribute('data-lit')
      if (place)
        for (const same of document.querySelectorAll(`[data-place="${CSS.escape(place)}"]`))
          same.setAttribute('data-lit', '')
    }
    map.addEventListener('keydown', onKey)
    document.addEventListener('pointerover', light)
    document.addEventListener('focusin', light)
    return () => {
      map.removeEventListener('keydown', onKey)
      document.removeEventListener('pointerover', light)
      document.removeEventListener('focusin', light)
    }
  }, [])
  return <div ref={box}>{children}</div>
}

const placeOf = (mark: Element): [number, number] => [
  Number(mark.getAttribute('data-x')),
  Number(mark.getAttribute('data-y')),
]
