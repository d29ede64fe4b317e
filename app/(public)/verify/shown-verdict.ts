import { getTranslations } from 'next-intl/server'
import { REFUSALS } from '@/lib/certification/core/verdict'
import type { PublicVerdict } from '@/lib/certification/queries-verify'
import { dateInWords, lastDayInWords } from '@/lib/kernel/date-words'
import type { Locale } from '@/lib/kernel/wording'

/** A verdict in words, ready to show before and after JavaScript has loaded. */
export interface ShownVerdict {
  good: boolean
  word: string
  sentence: string
  rows: { label: string; text: string; isNumber?: true }[]
  hint: string | null
}

/** Null where too many tries came from here: then there is only the sentence. */
export async function showVerdict(
  verdict: PublicVerdict,
  locale: Locale,
): Promise<ShownVerdict | { wait: string }> {
  const t = await getTranslations('verify')
  if (verdict.status === 'wait')
    return { wait: t('wait', { minutes: Math.max(1, Math.ceil(verdict.seconds / 60)) }) }
  const { certificate } = verdict
  const rows = certificate
    ? [
        { label: t('name'), text: certificate.holderName },
        { label: t('role'), text: certificate.roleName[locale] },
        { label: t('county'), text: certificate.countyName },
        { label: t('from'), text: dateInWords(certificate.validFrom, locale) },
        {
          label: t('through'),
          text: certificate.validUntil ? lastDayInWords(certificate.validUntil, locale) : t('noEnd'),
        },
        { label: t('number'), text: certificate.serial, isNumber: true as const },
      ]
    : []
  if (verdict.status === 'valid')
    return {
      good: true,
      word: t('valid'),
      sentence: t('validSentence', { date: dateInWords(verdict.checkedOn, locale) }),
      rows,
      hint: t('compare'),
    }
  return {
    good: false,
    word: t('notValid'),
    sentence: verdict.reason === 'notFound' ? t('notFound') : REFUSALS[verdict.reason][locale],
    rows,
    hint: null,
  }
}
