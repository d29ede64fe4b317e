import type { ReactNode } from 'react'

export type NoticeKind = 'info' | 'good' | 'warn' | 'bad'

export const Notice = ({ kind = 'info', children }: { kind?: NoticeKind; children: ReactNode }) => (
  <div className="notice" data-kind={kind}>
    {children}
  </div>
)

export const Tag = ({ kind = 'info', children }: { kind?: NoticeKind; children: ReactNode }) => (
  <span className="tag" data-kind={kind}>
    {children}
  </span>
)

/** What a list shows when it is empty: why, and what to do about it. */
export const Empty = ({ children }: { children: ReactNode }) => <div className="empty">{children}</div>

/** A table that scrolls inside its own box, by keyboard too. A group, not a landmark: a page has many. */
export const TableBox = ({ label, children }: { label: string; children: ReactNode }) => (
  // biome-ignore lint/a11y/useSemanticElements: a fieldset is for forms
  // biome-ignore lint/a11y/noNoninteractiveTabindex: a box that scrolls must be reachable by keyboard (WCAG 2.1.1)
  <div className="table-box" role="group" aria-label={label} tabIndex={0}>
    {children}
  </div>
)

/** Large figures with their names. */
export const Figures = ({ items }: { items: { name: string; value: ReactNode }[] }) => (
  <dl className="figure-row">
    {items.map((item) => (
      <div key={item.name}>
        <dt>{item.name}</dt>
        <dd>{item.value}</dd>
      </div>
    ))}
  </dl>
)
