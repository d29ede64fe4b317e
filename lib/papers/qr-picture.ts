import { toString as drawQr } from 'qrcode'

/** A QR code as the address of an SVG picture (data:). Error correction M: a crease in the card is survived. */
export async function qrPicture(text: string): Promise<string> {
  const svg = await drawQr(text, { type: 'svg', errorCorrectionLevel: 'M', margin: 2 })
  return `data:image/svg+xml;base64,${Buffer.from(svg).toString('base64')}`
}
