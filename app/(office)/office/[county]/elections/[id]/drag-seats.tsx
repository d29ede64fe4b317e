'use client'
import { useRouter } from 'next/navigation'
import { type ReactNode, useEffect, useRef } from 'react'

/** Dragging a person's seat onto another one opens the same question as the link 'Move' does: what it would do, and
 *  whether to. An extra for the mouse; everything goes without it. `href` is the board's address with its filter. */
export function DragSeats({ href, children }: { href: string; children: ReactNode }) {
  const box = useRef<HTMLDivElement>(null)
  const router = useRouter()
  useEffect(() => {
    const board = box.current!
    let from: string | null = null
    const seatAt = (event: Event) => (event.target as Element).closest<HTMLElement>('[data-seat]')
    const unmark = () => {
      for (const seat of board.querySelectorAll('[data-over]')) seat.removeAttribute('data-over')
    }
    const start = (event: DragEvent) => {
      from = seatAt(event)?.dataset.seat ?? null
      if (from) event.dataTransfer?.setData('text/plain', from)
    }
    const over = (event: DragEvent) => {
      const seat = seatAt(event)
      if (!from || !seat || seat.dataset.seat === from) return
      event.preventDefault()
      unmark()
      seat.setAttribute('data-over', '')
    }
    const drop = (event: DragEvent) => {
      const to = seatAt(event)?.dataset.seat
      if (!from || !to || to === from) return
      event.preventDefault()
      router.push(`${href}${href.includes('?') ? '&' : '?'}move=${from}&to=${to}#move`)
    }
    const end = () => {
      from = null
      unmark()
    }
    board.addEventListener('dragstart', start)
    board.addEventListener('dragover', over)
    board.addEventListener('drop', drop)
    board.addEventListener('dragend', end)
    return () => {
      board.removeEventListener('dragstart', start)
      board.removeEventListener('dragover', over)
      board.removeEventListener('drop', drop)
      board.removeEventListener('dragend', end)
    }
  }, [href, router])
  return <div ref={box}>{children}</div>
}
