/** Workbooks by hand (ECMA-376 parts), so that a test can also make wrong ones. */
import yazl from 'yazl'

export async function zipOf(files: Record<string, string | Buffer>): Promise<Buffer> {
  const zip = new yazl.ZipFile()
  for (const [name, content] of Object.entries(files)) zip.addBuffer(Buffer.from(content), name)
  zip.end()
  const parts: Buffer[] = []
  for await (const part of zip.outputStream) parts.push(part as Buffer)
  return Buffer.concat(parts)
}

const HEAD = '<?xml version="1.0" encoding="UTF-8" standalone="yes"?>\n'
const MAIN = 'http://schemas.openxmlformats.org/spreadsheetml/2006/main'
const OFFICE = 'http://schemas.openxmlformats.org/officeDocument/2006/relationships'
const PACKAGE = 'http://schemas.openxmlformats.org/package/2006'

const escapeXml = (text: string) => text.replace(/[&<>"]/g, (sign) => `&#${sign.charCodeAt(0)};`)

/** A date cell: days since 30 December 1899 (the 1900 date system), in the built-in format 14. */
export interface DateCell {
  serial: number
}
export type Cell = string | number | boolean | DateCell | null

function cellXml(cell: Cell, address: string): string {
  if (cell === null) return ''
  if (typeof cell === 'number') return `<c r="${address}"><v>${cell}</v></c>`
  if (typeof cell === 'boolean') return `<c r="${address}" t="b"><v>${cell ? 1 : 0}</v></c>`
  if (typeof cell === 'object') return `<c r="${address}" s="1"><v>${cell.serial}</v></c>`
  return `<c r="${address}" t="inlineStr"><is><t xml:space="preserve">${escapeXml(cell)}</t></is></c>`
}

export function sheetXml(rows: readonly (readonly Cell[])[]): string {
  const lines = rows.map(
    (row, i) =>
      `<row r="${i + 1}">${row.map((cell, j) => cellXml(cell, `${String.fromCharCode(65 + j)}${i + 1}`)).join('')}</row>`,
  )
  return `${HEAD}<worksheet xmlns="${MAIN}"><sheetData>${lines.join('')}</sheetData></worksheet>`
}

export function workbookFiles(sheet: string): Record<string, string> {
  return {
    '[Content_Types].xml': `${HEAD}<Types xmlns="${PACKAGE}/content-types"><Default Extension="rels" ContentType="application/vnd.openxmlformats-package.relationships+xml"/><Default Extension="xml" ContentType="application/xml"/><Override PartName="/xl/workbook.xml" ContentType="application/vnd.openxmlformats-officedocument.spreadsheetml.sheet.main+xml"/><Override PartName="/xl/worksheets/sheet1.xml" ContentType="application/vnd.openxmlformats-officedocument.spreadsheetml.worksheet+xml"/><Override PartName="/xl/styles.xml" ContentType="application/vnd.openxmlformats-officedocument.spreadsheetml.styles+xml"/></Types>`,
    '_rels/.rels': `${HEAD}<Relationships xmlns="${PACKAGE}/relationships"><Relationship Id="rId1" Type="${OFFICE}/officeDocument" Target="xl/workbook.xml"/></Relationships>`,
    'xl/workbook.xml': `${HEAD}<workbook xmlns="${MAIN}" xmlns:r="${OFFICE}"><sheets><sheet name="People" sheetId="1" r:id="rId1"/></sheets></workbook>`,
    'xl/_rels/workbook.xml.rels': `${HEAD}<Relationships xmlns="${PACKAGE}/relationships"><Relationship Id="rId1" Type="${OFFICE}/worksheet" Target="worksheets/sheet1.xml"/><Relationship Id="rId2" Type="${OFFICE}/styles" Target="styles.xml"/></Relationships>`,
    'xl/styles.xml': `${HEAD}<styleSheet xmlns="${MAIN}"><fonts count="1"><font/></fonts><fills count="1"><fill/></fills><borders count="1"><border/></borders><cellStyleXfs count="1"><xf/></cellStyleXfs><cellXfs count="2"><xf numFmtId="0"/><xf numFmtId="14" applyNumberFormat="1"/></cellXfs></styleSheet>`,
    'xl/worksheets/sheet1.xml': sheet,
  }
}

export const workbook = (rows: readonly (readonly Cell[])[]): Promise<Buffer> =>
  zipOf(workbookFiles(sheetXml(rows)))
