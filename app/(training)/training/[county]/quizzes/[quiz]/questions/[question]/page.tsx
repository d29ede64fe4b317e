import { notFound } from 'next/navigation'
import { Figures, Notice, TableBox, Tag } from '@/app/ui/notice'
import { chanceRight } from '@/lib/assessment/core/latent-model'
import type { ItemReport } from '@/lib/assessment/core/quiz-report'
import { itemAdvice } from '@/lib/assessment/core/quiz-words'
import { type AskedQuestion, askedQuestions, getQuizFigures } from '@/lib/assessment/queries-statistics'
import { requireActor } from '@/lib/auth/session'
import { orNotFound } from '@/lib/web/or-not-found'
import { CharacteristicCurve, ShareBar } from '../../../plots'
import { QuizPage } from '../../quiz-page'

export const metadata = { title: 'One question' }

const percent = (share: number) => `${Math.round(share * 100)} %`
const two = (value: number | null) => (value === null ? '—' : value.toFixed(2).replace('-', '−'))

export default async function QuestionFiguresPage({
  params,
}: {
  params: Promise<{ county: string; quiz: string; question: string }>
}) {
  const { county: countyId, quiz, question } = await params
  const actor = await requireActor(`/training/${countyId}/quizzes/${quiz}/questions/${question}`)
  const { county, design, state, openAppeals, mayDecide } = await orNotFound(
    getQuizFigures(actor, countyId, quiz),
  )
  const item = state.status === 'ready' ? state.report.items.find((each) => each.id === question) : undefined
  if (!item) notFound()
  const about = askedQuestions([question]).get(question)!
  const advice = itemAdvice(item, about.options)
  return (
    <QuizPage
      county={county}
      quiz={{ id: design.id, name: design.names.en }}
      title={item.kind === 'story' ? 'A story of the quiz' : 'A question of the quiz'}
      here="figures"
      openAppeals={openAppeals}
    >
      <p className="stem">{about.text}</p>
      <p className="quiet">
        {[about.competency.replaceAll('-', ' '), about.band, about.lifecycle].filter(Boolean).join(' · ')}
      </p>
      <Figures
        items={[
          { name: 'answers', value: item.people },
          { name: 'right', value: item.p === null ? '—' : percent(item.p) },
          { name: 'tells apart', value: two(item.correctedPointBiserial) },
          { name: 'difficulty', value: item.rasch ? two(item.rasch.difficulty) : '—' },
        ]}
      />
      {advice.length === 0 ? (
        <Notice kind="good">
          <p>Nothing is wrong with it.</p>
        </Notice>
      ) : (
        <Notice kind={advice[0]!.weight === 'look' ? 'warn' : 'info'}>
          {advice.map((a) => (
            <p key={a.text}>{a.text}</p>
          ))}
        </Notice>
      )}
      {item.options.length > 0 ? <Options item={item} about={about} /> : <RightAnswer about={about} />}
      {item.rasch && <Curve item={item} />}
      <Groups item={item} />
      {mayDecide && item.kind === 'question' && (
        <p>
          <a
            href={`/training/${county.id}/quizzes/${design.id}/appeals/mend/${item.id}?version=${about.version}`}
          >
            The question is faulty: mend it for everybody
          </a>
        </p>
      )}
    </QuizPage>
  )
}

const RightAnswer = ({ about }: { about: AskedQuestion }) =>
  about.right.length > 0 && (
    <p>
      Right answer: {about.right.join('; ')}. Credit can be partial, so there are no bars for single answers.
    </p>
  )

function Options({ item, about }: { item: ItemReport; about: AskedQuestion }) {
  const third = (n: 0 | 1 | 2) =>
    Math.max(
      1,
      item.options.reduce((sum, o) => sum + o.thirds[n], 0),
    )
  return (
    <section aria-labelledby="answers">
      <h2 id="answers">Who chose which answer</h2>
      <TableBox label="Answers, by how people did on the rest of the quiz">
        <table>
          <thead>
            <tr>
              <th scope="col">Answer</th>
              <th scope="col" className="number">
                All
              </th>
              <th scope="col">Weakest third</th>
              <th scope="col">Middle third</th>
              <th scope="col">Strongest third</th>
              <th scope="col" className="number">
                Their mean on the rest
              </th>
            </tr>
          </thead>
          <tbody>
            {item.options.map((option) => (
              <tr key={option.option}>
                <th scope="row" className="question-cell">
                  {about.options.find((o) => o.id === option.option)?.text ?? option.option}{' '}
                  {option.right && <Tag kind="good">✓ key</Tag>}
                </th>
                <td className="number">{percent(option.share)}</td>
                {([0, 1, 2] as const).map((n) => (
                  <td key={n}>
                    {percent(option.thirds[n] / third(n))}
                    <ShareBar share={option.thirds[n] / third(n)} wrong={!option.right} />
                  </td>
                ))}
                <td className="number">{option.meanRest === null ? '—' : percent(option.meanRest)}</td>
              </tr>
            ))}
          </tbody>
        </table>
      </TableBox>
      <p className="small quiet">
        In a question that works, the key’s bars grow from left to right and the others’ shrink.
      </p>
    </section>
  )
}

const Curve = ({ item }: { item: ItemReport }) => (
  <section aria-labelledby="curve">
    <h2 id="curve">Who knows it</h2>
    <div className="two-up">
      <div>
        <CharacteristicCurve item={item} />
        <p className="small quiet">
          Line: what the Rasch model expects (difficulty {two(item.rasch!.difficulty)}
          {item.rasch!.error !== null && `, standard error ${item.rasch!.error.toFixed(2)}`}).{' '}
          {item.twoParameter &&
            `Broken line: two-parameter model (difficulty ${two(item.twoParameter.difficulty)}, discrimination ${two(item.twoParameter.discrimination)}). `}
          Rings: groups of people.
        </p>
      </div>
      {item.observed.length > 0 && (
        <TableBox label="Groups of people of like ability">
          <table>
            <thead>
              <tr>
                <th scope="col" className="number">
                  Ability
                </th>
                <th scope="col" className="number">
                  People
                </th>
                <th scope="col" className="number">
                  Right
                </th>
                <th scope="col" className="number">
                  Expected
                </th>
              </tr>
            </thead>
            <tbody>
              {item.observed.map((group) => (
                <tr key={group.ability}>
                  <td className="number">{two(group.ability)}</td>
                  <td className="number">{group.people}</td>
                  <td className="number">{percent(group.share)}</td>
                  <td className="number">{percent(chanceRight(group.ability, item.rasch!.difficulty))}</td>
                </tr>
              ))}
            </tbody>
          </table>
        </TableBox>
      )}
    </div>
  </section>
)

const SIZES = { A: 'negligible', B: 'moderate', C: 'large' } as const

function Groups({ item }: { item: ItemReport }) {
  const { functioning, drift } = item
  return (
    <section aria-labelledby="groups">
      <h2 id="groups">Languages and time</h2>
      <p>
        {functioning?.size
          ? `English and Spanish: the difference is ${SIZES[functioning.size]} (class ${functioning.size}, delta ${two(functioning.delta)}, chance ${functioning.pValue?.toFixed(3)}; ${functioning.en} and ${functioning.es} people).`
          : `English and Spanish can’t be compared yet: ${functioning?.en ?? 0} and ${functioning?.es ?? 0} people had this question, 100 of each are needed.`}
      </p>
      <p>
        {drift && drift.drifted !== null && drift.before !== null && drift.after !== null
          ? `Over time: ${percent(drift.before)} right in the first half of the sittings, ${percent(drift.after)} in the second (z ${two(drift.z)})${drift.drifted ? '.' : ', no more than the other questions changed.'}`
          : 'Over time: too few answers in one half of the sittings.'}
      </p>
      <p>In {percent(item.exposure)} of all forms.</p>
    </section>
  )
}
