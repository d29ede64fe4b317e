import { randomUUID } from 'node:crypto'
import { refresh } from 'next/cache'
import { redirect } from 'next/navigation'
import { z } from 'zod'
import type { Actor } from '@/lib/auth/actor'
import { currentActor } from '@/lib/auth/session'
import { AppError } from '@/lib/kernel/errors'
import type { Locale } from '@/lib/kernel/wording'
import { log } from './log'
import type { Entered, Outcome } from './outcome'
import { preferences } from './preferences'

/** What an action's work may answer: a sentence to show, a page to go to, a small value. */
// biome-ignore lint/suspicious/noConfusingVoidType: a work that answers nothing is fine
export type Answer = { message?: string; goTo?: string; value?: unknown } | void

export type FormAction = (before: Outcome, form: FormData) => Promise<Outcome>

/** Form fields as an object; a name that ends in `[]` gathers all its values. */
export function formFields(form: FormData): Record<string, unknown> {
  const fields: Record<string, unknown> = {}
  for (const name of new Set(form.keys())) {
    if (name.startsWith('$')) continue
    fields[name.endsWith('[]') ? name.slice(0, -2) : name] = name.endsWith('[]')
      ? form.getAll(name)
      : form.get(name)
  }
  return fields
}

const SECRET_FIELD = /password|code|secret/i

const isText = (value: unknown): value is string => typeof value === 'string'

/** What the person typed and ticked, to fill the form again after a refusal; never a password, a code or a file. */
const enteredIn = (fields: Record<string, unknown>): Entered =>
  Object.fromEntries(
    Object.entries(fields).filter(
      (f): f is [string, string | string[]] =>
        (isText(f[1]) || (Array.isArray(f[1]) && f[1].every(isText))) && !SECRET_FIELD.test(f[0]),
    ),
  )

const FAILED = {
  en: (id: string) =>
    `Something went wrong on our side, and nothing was saved. Please try again. If it goes on, tell the election office this number: ${id}`,
  es: (id: string) =>
    `Algo falló de nuestro lado y no se guardó nada. Inténtelo otra vez. Si continúa, dé este número a la oficina electoral: ${id}`,
}
const CHECK_FIELDS = {
  en: 'Please check the marked fields. Nothing was saved yet.',
  es: 'Revise los campos marcados. Todavía no se guardó nada.',
}

async function perform(
  locale: Locale,
  fields: Record<string, unknown>,
  work: () => Promise<Answer>,
): Promise<Outcome> {
  let answer: Answer
  try {
    answer = await work()
  } catch (error) {
    if (error instanceof AppError)
      return {
        status: 'refused',
        code: error.code,
        message: locale === 'es' ? (error.userMessageEs ?? error.userMessage) : error.userMessage,
        ...(error.fields ? { fields: error.fields } : {}),
        entered: enteredIn(fields),
      }
    if (error instanceof z.ZodError)
      return {
        status: 'refused',
        code: 'INVALID_INPUT',
        message: CHECK_FIELDS[locale],
        fields: Object.fromEntries(error.issues.map((issue) => [issue.path.join('.'), issue.message])),
        entered: enteredIn(fields),
      }
    // Next signals a redirect or a missing page by throwing; those are not failures.
    if (
      typeof (error as { digest?: unknown })?.digest === 'string' &&
      (error as { digest: string }).digest.startsWith('NEXT_')
    )
      throw error
    const eventId = randomUUID().slice(0, 8)
    log.error({ eventId, err: error }, 'an action failed')
    return { status: 'failed', message: FAILED[locale](eventId), eventId, entered: enteredIn(fields) }
  }
  // The page shows what is now so; also the one around the form, where an address differs by its '#' alone.
  refresh()
  if (answer?.goTo) redirect(answer.goTo)
  return { status: 'done', message: answer?.message, value: answer?.value }
}

/** A server action for somebody who is signed in: parses the form, loads the actor, maps errors. The command that it
 *  calls authorises. Server actions are public POST endpoints: nothing here trusts the page that shows the form. */
export function defineAction<S extends z.ZodType>(
  input: S,
  work: (actor: Actor, input: z.output<S>) => Promise<Answer>,
): FormAction {
  return async (_before, form) => {
    const actor = await currentActor()
    if (!actor) redirect('/sign-in')
    const fields = formFields(form)
    return perform(actor.locale, fields, async () => work(actor, input.parse(fields)))
  }
}

/** The same for what is open to everybody (signing in, choosing a language). */
export function defineOpenAction<S extends z.ZodType>(
  input: S,
  work: (input: z.output<S>, locale: Locale) => Promise<Answer>,
): FormAction {
  return async (_before, form) => {
    const { locale } = await preferences()
    const fields = formFields(form)
    return perform(locale, fields, async () => work(input.parse(fields), locale))
  }
}
