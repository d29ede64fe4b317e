import { getTranslations } from 'next-intl/server'
import { Page } from '@/app/ui/frame'
import { requireActor } from '@/lib/auth/session'
import { dateInWords } from '@/lib/kernel/date-words'
import { type CivilDate, isCivilDate } from '@/lib/kernel/dates'
import type { Locale } from '@/lib/kernel/wording'
import { exportOwnRecord } from '@/lib/record/commands'
import { RECORD_PARTS, type RecordRow, type RecordValue } from '@/lib/record/parts'
import { getMyCorrections } from '@/lib/record/queries-corrections'
import { orNotFound } from '@/lib/web/or-not-found'
import { preferences } from '@/lib/web/preferences'
import { Corrections } from './corrections'

export async function generateMetadata() {
  const t = await getTranslations('certificates.record')
  return { title: t('title') }
}

const INSTANT = /^\d{4}-\d{2}-\d{2}T[\d:.]+Z$/

/** Everything that is kept about the person who is signed in, to read and to print. */
export default async function RecordPage({ searchParams }: { searchParams: Promise<{ said?: string }> }) {
  const { said } = await searchParams
  const actor = await requireActor('/certificates/record')
  const { locale } = await preferences()
  const [t, words, record, corrections] = await Promise.all([
    getTranslations('certificates'),
    getTranslations('certificates.record'),
    orNotFound(exportOwnRecord(actor, 'page')),
    orNotFound(getMyCorrections(actor)),
  ])
  const day = dateInWords(record.madeAt.slice(0, 10) as CivilDate, locale)
  const named = (value: string) => {
    const key = `values.${value}` as 'values.full'
    return /^\w+$/.test(value) && words.has(key) ? words(key) : null
  }
  const show = (value: RecordValue) =>
    (typeof value === 'string' ? named(value) : null) ?? valueInWords(value, locale, (key) => words(key))
  return (
    <Page
      title={words('title')}
      narrow
      here="/certificates"
      crumbs={<a href="/certificates">{t('title')}</a>}
    >
      <p className="lead">{words('lead', { date: day })}</p>
      <p className="no-print">
        <a className="button" data-kind="main" href="/api/me/record" download>
          {words('download')}
        </a>
      </p>
      <p className="small quiet">{words('fileWhy')}</p>
      <Corrections corrections={corrections} locale={locale} asked={said === 'asked'} />
      {RECORD_PARTS.map((part) => {
        const rows = record.parts[part]
        return (
          <section key={part} aria-labelledby={part}>
            <h2 id={part}>{words(`parts.${part}`)}</h2>
            {rows.length === 0 && <p className="quiet">{words('nothing')}</p>}
            {rows.length > 3 ? (
              <details className="panel">
                <summary>
                  {words(`parts.${part}`)}: {rows.length}
                </summary>
                {rows.map((row, i) => (
                  <Row key={i} row={row} show={show} label={(name) => labelOf(words, name)} />
                ))}
              </details>
            ) : (
              rows.map((row, i) => (
                <Row key={i} row={row} show={show} label={(name) => labelOf(words, name)} />
              ))
            )}
          </section>
        )
      })}
    </Page>
  )
}

type Words = Awaited<ReturnType<typeof getTranslations<'certificates.record'>>>

const labelOf = (words: Words, name: string): string => {
  const key = `columns.${name}` as 'columns.name'
  return words.has(key) ? words(key) : name
}

/** What is there, label by label; what is empty is left out. */
const Row = ({
  row,
  show,
  label,
}: {
  row: RecordRow
  show: (value: RecordValue) => string
  label: (name: string) => string
}) => (
  <dl className="pairs record-row">
    {Object.entries(row)
      .filter(([, value]) => value !== null && value !== '' && !(Array.isArray(value) && value.length === 0))
      .map(([name, value]) => (
        <div key={name} style={{ display: 'contents' }}>
          <dt>{label(name)}</dt>
          <dd>{show(value)}</dd>
        </div>
      ))}
  </dl>
)

function valueInWords(
  value: RecordValue,
  locale: Locale,
  words: (key: 'yes' | 'no' | 'long') => string,
): string {
  if (typeof value === 'boolean') return words(value ? 'yes' : 'no')
  if (typeof value === 'number')
    return new Intl.NumberFormat(locale === 'es' ? 'es-US' : 'en-US', { useGrouping: false }).format(value)
  if (typeof value === 'string') {
    if (isCivilDate(value)) return dateInWords(value, locale)
    if (INSTANT.test(value))
      return `${new Intl.DateTimeFormat(locale === 'es' ? 'es-US' : 'en-US', {
        dateStyle: 'medium',
        timeStyle: 'short',
        timeZone: 'UTC',
      }).format(new Date(value))} UTC`
    return value.length > 2000 || (value.length > 500 && !value.includes(' ')) ? words('long') : value
  }
  if (value === null) return ''
  if (Array.isArray(value) && value.every((part) => typeof part === 'string'))
    return value.map((part) => valueInWords(part, locale, words)).join(', ')
  const text = JSON.stringify(value)
  return text.length > 200 ? words('long') : text
}
