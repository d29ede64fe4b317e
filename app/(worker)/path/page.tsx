import { getTranslations } from 'next-intl/server'
import { Page } from '@/app/ui/frame'
import { Empty, Notice, Tag } from '@/app/ui/notice'
import { listQuizzes } from '@/lib/assessment/queries'
import { requireActor } from '@/lib/auth/session'
import { listMyClasses } from '@/lib/classes/queries-classes'
import { CHECK_OFF_DAY } from '@/lib/classes/schema'
import { dateInWords, lastDayInWords } from '@/lib/kernel/date-words'
import { daysBetween } from '@/lib/kernel/dates'
import { countMyOffers } from '@/lib/offers/queries-mine'
import { getMyPathOrThrow } from '@/lib/path/queries'
import { listLessons } from '@/lib/scenarios/queries'
import { orNotFound } from '@/lib/web/or-not-found'
import { preferences } from '@/lib/web/preferences'
import { ClassDates } from './class-dates'
import { OffersNotice } from './offers-notice'
import { PositionChoice } from './position-choice'
import { Practice } from './practice'
import { Steps } from './steps'

export async function generateMetadata() {
  const t = await getTranslations('path')
  return { title: t('title') }
}

export default async function PathPage({ searchParams }: { searchParams: Promise<{ said?: string }> }) {
  const { said } = await searchParams
  const actor = await requireActor('/path')
  const { locale } = await preferences()
  const [t, path, lessons, quizzes, classes, offered] = await Promise.all([
    getTranslations('path'),
    orNotFound(getMyPathOrThrow(actor, locale)),
    orNotFound(listLessons(actor, locale)),
    orNotFound(listQuizzes(actor, locale)),
    orNotFound(listMyClasses(actor, locale)),
    orNotFound(countMyOffers(actor)),
  ])
  const { standing, wanted, steps, next } = path
  const election = standing.nextElection
  const electionDate = election ? dateInWords(election.heldOn, locale) : ''
  const lesson = next?.kind === 'lessonFinished' ? lessons.find((l) => l.key === next.topic) : undefined
  const quiz = next?.kind === 'quizPassed' ? quizzes.find((q) => q.key === next.topic) : undefined
  const booked = classes.filter((c) => c.mine?.state === 'seat' || c.mine?.state === 'waiting')
  const topic = next?.kind === 'classAttended' ? next.topic : next?.kind === 'checkOff' ? CHECK_OFF_DAY : null
  const dates = topic ? classes.filter((c) => c.topic === topic) : []
  const done = steps.filter((step) => step.done).length
  const complete = wanted !== null && wanted.certificate?.validOnElectionDay === true
  const ownLessons = path.lessons.flatMap((key) => lessons.find((l) => l.key === key) ?? [])
  const firstPractice =
    ownLessons.find((l) => l.timesFinished === 0) ?? lessons.find((l) => l.timesFinished === 0) ?? lessons[0]

  return (
    <Page title={t('title')} here="/path" narrow>
      <p className="lead">{t('hello', { name: standing.name.split(' ')[0] ?? standing.name })}</p>

      {said === 'saved' && (
        <div role="status">
          <Notice kind="good">
            <p>{t('saved')}</p>
          </Notice>
        </div>
      )}

      <OffersNotice offered={offered} />

      {!wanted && (
        <section className="panel next-step" aria-labelledby="next">
          <h2 id="next">{t('noPosition')}</h2>
          <PositionChoice positions={path.positions} chosen={null} offersShift={path.offersShift} />
        </section>
      )}

      {complete && (
        <Notice kind="good">
          <h2 id="next">{t('ready', { position: wanted.name })}</h2>
          <p>{election ? t('readyFor', { election: election.name, date: electionDate }) : t('readyToday')}</p>
        </Notice>
      )}

      {wanted && !complete && next && (
        <section className="panel next-step" aria-labelledby="next">
          <p className="eyebrow">{t('next')}</p>
          <h2 id="next">{next.label}</h2>
          <p>{t(`nextKind.${next.kind}`)}</p>
          {lesson && (
            <a className="button wide" data-kind="main" href={`/lessons/${lesson.key}`}>
              {t(lesson.unfinished ? 'goOnLesson' : 'nextLesson')}
            </a>
          )}
          {quiz && (
            <a className="button wide" data-kind="main" href={`/quiz/${quiz.key}`}>
              {t('nextQuiz')}
            </a>
          )}
          {topic && <ClassDates topic={topic} dates={dates} />}
          {!lesson && !quiz && firstPractice && (
            <a className="button wide" href={`/lessons/${firstPractice.key}`}>
              {t('practise')}
            </a>
          )}
        </section>
      )}

      {wanted && !complete && !next && steps.length > 0 && (
        <Notice kind="warn">
          <p>{t('notPossible')}</p>
        </Notice>
      )}

      {wanted && steps.length > 0 && (
        <section className="panel" aria-labelledby="steps">
          <h2 id="steps">{t('stepsTitle', { position: wanted.name })}</h2>
          <p>
            <strong>{t('stepsCount', { done, all: steps.length })}</strong>
          </p>
          {election && (
            <p>
              {t('electionOn', { election: election.name, date: electionDate })}.{' '}
              {t('daysLeft', { days: daysBetween(standing.today, election.heldOn) })}{' '}
              {!complete && t('doBefore', { date: electionDate })}
            </p>
          )}
          <Steps steps={steps} next={next} today={standing.today} locale={locale} booked={booked} />
        </section>
      )}

      {wanted && (
        <details className="panel">
          <summary>{t('change')}</summary>
          <PositionChoice positions={path.positions} chosen={wanted.key} offersShift={path.offersShift} />
        </details>
      )}

      <section aria-labelledby="certificates">
        <h2 id="certificates">{t('certificates')}</h2>
        {path.certificates.some((c) => c.valid) ? (
          <ul className="card-list">
            {path.certificates
              .filter((c) => c.valid)
              .map((c) => (
                <li className="panel" key={c.certificateKey}>
                  <p>
                    <strong>{c.name}</strong>
                  </p>
                  <p>
                    {c.until ? t('validThrough', { date: lastDayInWords(c.until, locale) }) : t('validNoEnd')}
                  </p>
                  {election &&
                    (c.validOnElectionDay ? (
                      <Tag kind="good">✓ {t('coversElection')}</Tag>
                    ) : (
                      <Tag kind="warn">! {t('endsBefore')}</Tag>
                    ))}
                </li>
              ))}
          </ul>
        ) : (
          <Empty>
            <p>{t('noCertificates')}</p>
          </Empty>
        )}
      </section>

      <Practice lessons={lessons} own={path.lessons} position={wanted?.name ?? null} quizzes={quizzes} />
    </Page>
  )
}
