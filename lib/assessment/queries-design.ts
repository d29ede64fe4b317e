import type { Actor } from '@/lib/auth/actor'
import { db } from '@/lib/db/client'
import { findScenario } from '@/lib/scenarios/content'
import { loadBank } from './content'
import { inCell } from './core/draw'
import { rightTexts } from './core/sitting'
import { designOrThrow, exposureOf } from './queries'
import { mendsOf } from './queries-mends'
import { designIn } from './queries-pass-marks'
import { type CountyHead, quizCountyOrThrow } from './queries-statistics'
import type { Band, Competency, Lifecycle, Question, QuizDesign } from './schema'

export interface BankQuestion {
  id: string
  version: number
  kind: Question['kind']
  competency: Competency
  band: Band
  lifecycle: Lifecycle
  source: string
  texts: Question['texts']
  /** In English. */
  right: string[]
  /** Times drawn among the last thousand forms, everywhere. */
  drawn: number
  /** Turned out faulty in this county: not drawn here before it has a new version. */
  faulty: boolean
}

export interface DesignPage {
  county: CountyHead
  /** With the pass mark that the county adopted. */
  design: QuizDesign
  stories: { title: string; competency: Competency; weight: number }[]
  /** `live`: questions that a form may take in this county. */
  cells: { competency: Competency; band: Band | null; count: number; live: number }[]
  /** How many questions on the design's subjects are in each stage of their life. */
  stages: Record<Lifecycle, number>
  /** The subject of those questions; empty: all. */
  subject: string
  questions: BankQuestion[]
}

/** How a quiz is built, and the bank's questions on its subjects: of the first one, of one (empty: all), in one stage.
 *  @throws AppError NOT_FOUND, FORBIDDEN */
export async function getDesignPage(
  actor: Actor,
  countyId: string,
  quizKey: string,
  only: { competency: string | undefined; lifecycle: string | undefined },
): Promise<DesignPage> {
  const county = await quizCountyOrThrow(actor, countyId)
  const shipped = designOrThrow(quizKey)
  const [design, mends, drawn] = await Promise.all([
    designIn(db(), countyId, shipped),
    mendsOf(db(), countyId, quizKey),
    exposureOf(db(), quizKey),
  ])
  const subjects = new Set<string>([
    ...design.blueprint.cells.map((cell) => cell.competency),
    ...design.scenarios.map((slot) => slot.competency),
  ])
  const bank = [...loadBank().values()].filter((q) => subjects.has(q.competency))
  const isFaulty = (q: Question) =>
    mends.some((m) => m.questionId === q.id && m.questionVersion === q.version)
  const subject = only.competency ?? design.blueprint.cells[0]!.competency
  const stage = (lifecycle: Lifecycle) => bank.filter((q) => q.lifecycle === lifecycle).length
  return {
    county,
    design,
    stories: design.scenarios.map(({ key, competency, weight }) => ({
      title: findScenario(key)?.scenario.texts.en.title ?? key,
      competency,
      weight,
    })),
    cells: design.blueprint.cells.map((cell) => ({
      competency: cell.competency,
      band: cell.band ?? null,
      count: cell.count,
      live: bank.filter((q) => q.lifecycle === 'live' && !isFaulty(q) && inCell(cell, q)).length,
    })),
    stages: {
      draft: stage('draft'),
      trial: stage('trial'),
      live: stage('live'),
      retired: stage('retired'),
    },
    subject,
    questions: bank
      .filter(
        (q) => (!subject || q.competency === subject) && (!only.lifecycle || q.lifecycle === only.lifecycle),
      )
      .sort((a, b) => (`${a.competency} ${a.id}` < `${b.competency} ${b.id}` ? -1 : 1))
      .map((q) => ({
        id: q.id,
        version: q.version,
        kind: q.kind,
        competency: q.competency,
        band: q.band,
        lifecycle: q.lifecycle,
        source: q.source.cite ?? q.source.kind,
        texts: q.texts,
        right: rightTexts(q, 'en'),
        drawn: drawn.get(q.id) ?? 0,
        faulty: isFaulty(q),
      })),
  }
}
