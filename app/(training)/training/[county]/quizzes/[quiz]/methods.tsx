import type { QuizReport } from '@/lib/assessment/core/quiz-report'

const percent = (share: number) => `${Math.round(share * 100)} %`

/** How the figures come about, for whoever has to defend them. */
export const Methods = ({ report }: { report: QuizReport }) => (
  <details>
    <summary>How these figures come about</summary>
    <ul>
      <li>
        They are about each person’s first sitting ({report.people} people); how often a question was shown is
        about all {report.sittings} sittings. Partial credit counts as it was given.
      </li>
      <li>
        Right: mean share of the question’s point. Tells apart: correlation of that share with the share on
        the rest of the quiz (corrected point-biserial); 0.3 and more is good, below 0.1 is nothing.
      </li>
      <li>
        Reliability: Cronbach’s alpha over the parts that all forms have alike
        {report.reliability &&
          ` (${report.reliability.parts} parts, ${report.reliability.people} people), population variances`}
        . Standard error of measurement: deviation × √(1 − reliability)
        {report.reliability && ` = ${(100 * report.reliability.standardError).toFixed(1)} points of 100`}.
      </li>
      <li>
        Same verdict twice: Livingston and Lewis (1995), true scores as a beta distribution of two parameters
        {report.consistency &&
          `; effective length ${report.consistency.effectiveLength}, agreement ${percent(report.consistency.agreement)}, kappa ${report.consistency.kappa?.toFixed(2) ?? '—'}, accuracy ${percent(report.consistency.accuracy)}`}
        .
      </li>
      <li>
        Difficulty: Rasch model by marginal maximum likelihood, ability with mean 0 and deviation 1; an answer
        counts as right when it earned its whole point
        {report.rasch && `; log-likelihood ${report.rasch.logLikelihood.toFixed(1)}`}. Two-parameter model:{' '}
        {report.twoParameter
          ? `fitted, log-likelihood ${report.twoParameter.logLikelihood.toFixed(1)}.`
          : 'from about 500 people on.'}
      </li>
      <li>
        Languages: Mantel–Haenszel, people matched by the number of questions answered right; classes A, B and
        C by its delta. Change over time: difference of logits before and since{' '}
        {report.driftSplitOn ?? 'the middle sitting'}, less the median of all questions, at 1 % after
        Bonferroni.
      </li>
      <li>
        Shown: the most used question was in {percent(report.exposure.highest)} of the forms, the least used
        in {percent(report.exposure.lowest)}
        {report.exposure.meanOverlap !== null &&
          `; two forms have ${percent(report.exposure.meanOverlap)} of their questions in common on average`}
        .
      </li>
    </ul>
  </details>
)
