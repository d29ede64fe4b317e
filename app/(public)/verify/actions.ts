'use server'
import { getTranslations } from 'next-intl/server'
import { z } from 'zod'
import { requestMeta } from '@/lib/auth/request-meta'
import { verifyPasted } from '@/lib/certification/queries-verify'
import { AppError } from '@/lib/kernel/errors'
import { defineOpenAction } from '@/lib/web/define-action'
import { showVerdict } from './shown-verdict'

const MOST_BYTES = 64 * 1024
const CredentialForm = z.object({
  credential: z.string().max(MOST_BYTES).catch(''),
  file: z.instanceof(File).optional().catch(undefined),
})

async function refuse(sentence: 'fileEmpty' | 'fileTooLarge'): Promise<never> {
  const words = (await getTranslations('verify'))(sentence)
  throw new AppError('INVALID_INPUT', { userMessage: words, userMessageEs: words })
}

export const checkFileAction = defineOpenAction(CredentialForm, async ({ credential, file }, locale) => {
  if (file && file.size > MOST_BYTES) return refuse('fileTooLarge')
  const text = credential.trim() || (file ? await file.text() : '')
  if (!text.trim()) return refuse('fileEmpty')
  const shown = await showVerdict(await verifyPasted(text, (await requestMeta()).address), locale)
  if ('wait' in shown)
    throw new AppError('TOO_MANY_TRIES', { userMessage: shown.wait, userMessageEs: shown.wait })
  return { value: shown }
})
