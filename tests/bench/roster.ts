/** `npm run bench -- roster [places people]…`: invented counties and, for the middle size, the real coordinates of
 *  polling places in tests/reference/places when they are there. Reference measured in the same run: the model without
 *  rules as an assignment (exact). Three seeds a size; set BENCH_SEEDS for fewer, BENCH_LARGE=1 for the large size. */
import { explainSeat } from '@/lib/roster/core/explain'
import { prepareRoster } from '@/lib/roster/core/prepared'
import { repair, repairMany } from '@/lib/roster/core/repair'
import { solveRoster } from '@/lib/roster/core/solve'
import { verifyRoster } from '@/lib/roster/core/verify'
import { county } from '../core/roster/county'

const seeds = Number(process.env.BENCH_SEEDS ?? 3)
const sizes: [number, number][] = [
  [40, 400],
  [300, 3000],
]
if (process.env.BENCH_LARGE === '1') sizes.push([1200, 12_000])
const work = Number(process.env.BENCH_WORK ?? 1)
const now = () => performance.now()
const seconds = (ms: number) => (ms / 1000).toFixed(2)

const rows: Record<string, string | number>[] = []
for (const [places, people] of sizes)
  for (let seed = 1; seed <= seeds; seed++) {
    // Large counties limit travel, as real ones do; it keeps the arcs few.
    const maxTravelKm = places >= 1000 ? 12 : places >= 300 ? 25 : null
    const instance = county({ places, people, seed, maxTravelKm })
    const plain = county({ places, people, seed, maxTravelKm, rules: false })
    let start = now()
    const exact = solveRoster(plain)
    const exactMs = now() - start
    start = now()
    let firstMs = 0
    const result = solveRoster(instance, {
      seed,
      workLimit: work,
      onProgress: (p) => {
        if (firstMs === 0 && p.filled !== null && p.stage !== 'least-cost') firstMs = now() - start
      },
    })
    const totalMs = now() - start
    const verdict = verifyRoster(instance, result)
    const prepared = prepareRoster(instance, result)
    const target = result.seatings[Math.floor(result.seatings.length / 2)]!
    repair(prepared, { personId: target.personId })
    start = now()
    repair(prepared, { personId: result.seatings[7]!.personId })
    const repairMs = now() - start
    start = now()
    repairMany(
      prepared,
      result.seatings.filter((_, i) => i % 70 === 0).map((s) => s.personId),
    )
    const stormMs = now() - start
    start = now()
    if (result.empty[0]) explainSeat(prepared, result.empty[0])
    const explainMs = now() - start
    const [one, two, three] = result.levels
    rows.push({
      size: `${places}/${people}`,
      seed,
      seats: instance.seats.length,
      'no rules, s': `${seconds(exactMs)} ${exact.status}`,
      'first roster, s': seconds(firstMs),
      'all, s': seconds(totalMs),
      'gap 1 seats': one!.gap ?? '-',
      'gap 2 viol.': two!.gap ?? '-',
      'gap 3': `${(100 * (three!.gap ?? 1)).toFixed(2)} %`,
      checker: verdict.ok ? 'agrees' : `refuses: ${verdict.problems[0]!.message}`,
      'call-out, ms': repairMs.toFixed(1),
      'storm, s': seconds(stormMs),
      'explain, ms': explainMs.toFixed(1),
      'MB rss': Math.round(process.memoryUsage().rss / 1e6),
    })
  }
console.table(rows)
