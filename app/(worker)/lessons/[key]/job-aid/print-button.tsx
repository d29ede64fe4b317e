'use client'

/** Opens the browser's print dialogue; without JavaScript the sentence says how. */
export const PrintButton = ({ label, how }: { label: string; how: string }) => (
  <div className="no-print">
    <button type="button" onClick={() => window.print()}>
      {label}
    </button>
    <noscript>
      <p>{how}</p>
    </noscript>
  </div>
)
