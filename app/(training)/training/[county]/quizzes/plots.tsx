/** Our own pictures of a quiz. Each repeats what a table or sentence beside it says. */
import { chanceRight } from '@/lib/assessment/core/latent-model'
import type { ItemReport } from '@/lib/assessment/core/quiz-report'

const WIDTH = 340

/** People by score, with the pass mark as a broken line; hollow bars lie below it. */
export function ScoreHistogram({ histogram, cutFraction }: { histogram: number[]; cutFraction: number }) {
  const most = Math.max(1, ...histogram)
  const x = (share: number) => 20 + share * (WIDTH - 40)
  const top = 22
  const bottom = 140
  return (
    <svg className="plot" viewBox={`0 0 ${WIDTH} 172`} role="img" aria-label={histogramWords(histogram)}>
      {histogram.map((people, i) => {
        const height = ((bottom - top) * people) / most
        const share = i / histogram.length
        return (
          people > 0 && (
            <rect
              key={share}
              x={x(share) + 1}
              y={bottom - height}
              width={(WIDTH - 40) / histogram.length - 2}
              height={height}
              className={share + 1e-9 >= cutFraction ? 'people' : 'below'}
            />
          )
        )
      })}
      <line x1="20" x2={WIDTH - 20} y1={bottom} y2={bottom} className="axis" />
      {[0, 0.25, 0.5, 0.75, 1].map((share) => (
        <text key={share} x={x(share)} y={bottom + 16} textAnchor="middle">
          {share * 100}
        </text>
      ))}
      <text x={WIDTH / 2} y={bottom + 30} textAnchor="middle">
        score in percent
      </text>
      <line x1={x(cutFraction)} x2={x(cutFraction)} y1={top - 4} y2={bottom} className="cut" />
      <text x={x(cutFraction) - 4} y={top - 8} textAnchor="end" className="strong">
        pass mark {Math.round(cutFraction * 100)} %
      </text>
    </svg>
  )
}
const histogramWords = (histogram: number[]) =>
  `People by score. ${histogram
    .map((people, i) => (people > 0 ? `${i * 5} to ${i * 5 + 5} percent: ${people}` : ''))
    .filter(Boolean)
    .join('; ')}.`

const ROW = 20
const STEP = 0.5

/** People (left) and questions (right) on one scale: where a question stands, half of the people at that height know it.
 *  Triangles are questions that somebody should look at. */
export function ItemMap({
  items,
  abilities,
  flagged,
}: {
  items: ItemReport[]
  abilities: number[]
  flagged: ReadonlySet<string>
}) {
  const placed = items.flatMap((item) => (item.rasch ? [{ id: item.id, at: item.rasch.difficulty }] : []))
  if (placed.length === 0) return null
  const bin = (value: number) => Math.floor(Math.max(-5, Math.min(4, value)) / STEP)
  const bins = [...placed.map((item) => bin(item.at)), ...abilities.map(bin)]
  const high = Math.max(...bins)
  const low = Math.min(...bins)
  const people = (b: number) => abilities.filter((a) => bin(a) === b).length
  const most = Math.max(1, ...Array.from({ length: high - low + 1 }, (_, i) => people(low + i)))
  const middle = 150
  const height = (high - low + 1) * ROW + 44
  return (
    <svg
      className="plot"
      viewBox={`0 0 ${WIDTH} ${height}`}
      role="img"
      aria-label="Map of people and questions on one scale; the table of questions below gives each difficulty."
    >
      <text x={middle - 34} y="16" textAnchor="end" className="strong">
        people
      </text>
      <text x={middle + 6} y="16" className="strong">
        questions (hard on top)
      </text>
      {Array.from({ length: high - low + 1 }, (_, i) => {
        const b = high - i
        const y = 24 + i * ROW
        const width = (100 * people(b)) / most
        const own = placed.filter((item) => bin(item.at) === b)
        const gap = Math.min(11, (WIDTH - middle - 14) / Math.max(1, own.length))
        return (
          <g key={b}>
            <line x1="8" x2={WIDTH - 8} y1={y + ROW} y2={y + ROW} className="grid-line" />
            <rect x={middle - 34 - width} y={y + 3} width={width} height={ROW - 6} className="people" />
            <text x={middle - 2} y={y + 14} textAnchor="end">
              {(b * STEP + STEP / 2).toFixed(1)}
            </text>
            {own
              .sort((a, z) => Number(flagged.has(z.id)) - Number(flagged.has(a.id)))
              .map((item, k) => {
                const x = middle + 12 + k * gap
                return flagged.has(item.id) ? (
                  <path key={item.id} d={`M${x} ${y + 4}l6 11h-12z`} className="flagged" />
                ) : (
                  <circle key={item.id} cx={x} cy={y + ROW / 2} r="4" className="item" />
                )
              })}
          </g>
        )
      })}
      <text x={WIDTH / 2} y={height - 6} textAnchor="middle">
        {abilities.length} people, {placed.length} questions
      </text>
    </svg>
  )
}

/** The chance of a right answer by ability: Rasch (solid), two-parameter (broken), and how groups of people did. */
export function CharacteristicCurve({ item }: { item: ItemReport }) {
  if (!item.rasch) return null
  const x = (ability: number) => 36 + ((ability + 4) / 8) * (WIDTH - 50)
  const y = (share: number) => 14 + (1 - share) * 150
  const path = (difficulty: number, discrimination: number) =>
    Array.from({ length: 81 }, (_, i) => {
      const ability = -4 + i / 10
      return `${i === 0 ? 'M' : 'L'}${x(ability).toFixed(1)} ${y(chanceRight(ability, difficulty, discrimination)).toFixed(1)}`
    }).join('')
  return (
    <svg
      className="plot"
      viewBox={`0 0 ${WIDTH} 208`}
      role="img"
      aria-label={`Chance of a right answer by ability. Half of the people at ability ${item.rasch.difficulty.toFixed(1)} are right.`}
    >
      {[0, 0.5, 1].map((share) => (
        <g key={share}>
          <line x1="36" x2={WIDTH - 14} y1={y(share)} y2={y(share)} className="grid-line" />
          <text x="32" y={y(share) + 4} textAnchor="end">
            {share * 100}
          </text>
        </g>
      ))}
      {[-4, -2, 0, 2, 4].map((ability) => (
        <text key={ability} x={x(ability)} y="182" textAnchor="middle">
          {ability}
        </text>
      ))}
      <text x={WIDTH / 2} y="200" textAnchor="middle">
        ability (0 is the mean of the people)
      </text>
      <path d={path(item.rasch.difficulty, 1)} className="curve" />
      {item.twoParameter && (
        <path
          d={path(item.twoParameter.difficulty, item.twoParameter.discrimination)}
          className="curve-two"
        />
      )}
      {item.observed.map((group) => (
        <circle key={group.ability} cx={x(group.ability)} cy={y(group.share)} r="5" className="dot" />
      ))}
    </svg>
  )
}

/** A share as a bar in a table's cell; the number stands beside it. */
export const ShareBar = ({ share, wrong = false }: { share: number; wrong?: boolean }) => (
  <svg
    className={wrong ? 'third-bar wrong' : 'third-bar'}
    viewBox="0 0 100 12"
    preserveAspectRatio="none"
    aria-hidden="true"
    focusable="false"
  >
    <rect x="0" y="0" width="100" height="12" className="frame" />
    <rect x="0" y="0" width={100 * share} height="12" />
  </svg>
)
