/** What the Lagrangian bound (bound.ts) is evaluated at. */
export interface Prices {
  unit: Float64Array
  /** By class. */
  filled: Float64Array
  /** By crew position in `minimumSlots`. */
  minimum: Float64Array
  violation: number
}

export interface BoundSpec {
  /** 1: level 3; 0: levels 1 and 2. */
  costFactor: number
  /** Weight of one violation in the objective itself (level 2: the scale). */
  violationFactor: number
  /** Level 3: violations allowed (V). Null at levels 1 and 2. */
  allowedViolations: number | null
  /** Seats of class k filled (N_k); null: free (level 1 in that class). */
  filled: (number | null)[]
  /** Level 1: what a filled seat of class k earns. */
  earn: Float64Array
}
