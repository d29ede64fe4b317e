/** How far a solve is, told while it runs. */
export interface SolveProgress {
  stage: 'reading' | 'seats' | 'least-cost' | 'bounds' | 'improving' | 'done'
  /** 0 to 1 over the whole run, never falling. */
  share: number
  filled: number | null
  violations: number | null
  cost: number | null
}
