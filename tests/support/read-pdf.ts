/** Reads papers back with programs that aren't ours: Debian's poppler-utils, and jsQR for codes. */
import { execFileSync } from 'node:child_process'
import { existsSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import path from 'node:path'
import jsQRModule from 'jsqr'

// The package is CommonJS: what it exports as default stands one level down here.
const jsQR = ((jsQRModule as unknown as { default?: typeof jsQRModule }).default ??
  jsQRModule) as unknown as typeof import('jsqr').default

export const canReadPdf = existsSync('/usr/bin/pdftoppm')

function withFile<T>(pdf: Buffer, work: (file: string, folder: string) => T): T {
  const folder = mkdtempSync(path.join(tmpdir(), 'readiness-pdf-'))
  try {
    const file = path.join(folder, 'paper.pdf')
    writeFileSync(file, pdf)
    return work(file, folder)
  } finally {
    rmSync(folder, { recursive: true, force: true })
  }
}

export const textOf = (pdf: Buffer): string =>
  withFile(pdf, (file) => execFileSync('pdftotext', ['-layout', file, '-'], { encoding: 'utf8' }))

export const pagesOf = (pdf: Buffer): number =>
  Number(/Pages:\s+(\d+)/.exec(withFile(pdf, (f) => execFileSync('pdfinfo', [f], { encoding: 'utf8' })))?.[1])

/** A page in shades of grey, as an office printer would have it: 150 dots an inch. */
export const greyPage = (pdf: Buffer, page = 1): { width: number; height: number; grey: Uint8Array } =>
  withFile(pdf, (file, folder) => {
    execFileSync('pdftoppm', [
      '-gray',
      '-r',
      '150',
      '-f',
      String(page),
      '-singlefile',
      file,
      path.join(folder, 'page'),
    ])
    const pgm = readFileSync(path.join(folder, 'page.pgm'))
    // Netpbm P5: magic, width, height, greatest value, one white space, then a byte a dot.
    const head = /^P5\s+(\d+)\s+(\d+)\s+255\s/.exec(pgm.toString('latin1', 0, 64))!
    return { width: Number(head[1]), height: Number(head[2]), grey: pgm.subarray(head[0].length) }
  })

/** What the code on the first page says; null where none is found. */
export function codeOn(pdf: Buffer): string | null {
  const { width, height, grey } = greyPage(pdf)
  const dots = new Uint8ClampedArray(width * height * 4)
  for (let i = 0; i < width * height; i++) dots.fill(grey[i]!, i * 4, i * 4 + 4)
  return jsQR(dots, width, height)?.data ?? null
}
