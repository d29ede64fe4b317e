/** Earlier and later pages of a list; nothing where there is one page. */
export const PageTurner = ({
  name,
  of,
  page,
  pages,
  linkTo,
}: {
  /** Landmarks are told apart by it. */
  name: string
  /** What the list holds: 'places'. */
  of: string
  page: number
  pages: number
  linkTo: (page: number) => string
}) =>
  pages > 1 && (
    <nav className="row" aria-label={name}>
      {page > 1 && (
        <a className="button" href={linkTo(page - 1)}>
          ‹ Earlier {of}
        </a>
      )}
      <span>
        Page {page} of {pages}
      </span>
      {page < pages && (
        <a className="button" href={linkTo(page + 1)}>
          Later {of} ›
        </a>
      )}
    </nav>
  )
