/** A browser without JavaScript, as far as forms go: reads a page, fills a form, posts it. */
import { Window } from 'happy-dom'

export interface PlainPage {
  status: number
  html: string
  document: Document
  url: string
}

export function parseHtml(html: string): Document {
  const window = new Window()
  return new window.DOMParser().parseFromString(html, 'text/html') as unknown as Document
}

export async function getPage(url: string, cookie: string): Promise<PlainPage> {
  const answer = await fetch(url, { headers: { cookie }, redirect: 'manual' })
  const html = await answer.text()
  return { status: answer.status, html, document: parseHtml(html), url }
}

/** Posts the form that has a field of this name, its hidden and prefilled fields as they are, others as given. */
export async function postForm(
  page: PlainPage,
  cookie: string,
  fieldName: string,
  values: Record<string, string>,
): Promise<PlainPage> {
  const field = page.document.querySelector(`form [name="${fieldName}"]`)
  if (!field) throw new Error(`${page.url} has no form with a field "${fieldName}" (status ${page.status})`)
  const form = field.closest('form')!
  const body = new FormData()
  for (const input of form.querySelectorAll('input, select, textarea')) {
    const name = input.getAttribute('name')
    if (!name || name in values) continue
    const type = input.getAttribute('type')
    if ((type === 'radio' || type === 'checkbox') && !input.hasAttribute('checked')) continue
    body.append(name, input.getAttribute('value') ?? '')
  }
  for (const [name, value] of Object.entries(values)) body.append(name, value)
  const answer = await fetch(page.url, {
    method: 'POST',
    body,
    headers: { cookie, origin: new URL(page.url).origin },
    redirect: 'manual',
  })
  const html = await answer.text()
  return { status: answer.status, html, document: parseHtml(html), url: page.url }
}
