export interface Minimum {
  at: Float64Array
  value: number
  gradient: Float64Array
  iterations: number
  converged: boolean
}

/** Minimises a smooth function by BFGS with a backtracking line search, from `start`, with the inverse Hessian's first
 *  guess `scale × identity`. Stops where no gradient component is larger than `tolerance` (or where rounding stops any
 *  descent). O(n²) memory. Source: Nocedal & Wright 2006, Numerical Optimization, algorithm 6.1. */
export function minimise(
  evaluate: (x: Float64Array) => { value: number; gradient: Float64Array },
  start: Float64Array,
  scale: number,
  tolerance: number,
  maxIterations = 500,
  /** Told before each step how far the largest gradient has come down to the tolerance, on a logarithmic scale. */
  onShare: (share: number) => void = () => undefined,
): Minimum {
  const n = start.length
  let x = Float64Array.from(start)
  let { value, gradient } = evaluate(x)
  const h = new Float64Array(n * n)
  const reset = () => {
    h.fill(0)
    for (let i = 0; i < n; i++) h[i * n + i] = scale
  }
  reset()
  let fresh = true
  const largest = (g: Float64Array) => g.reduce((m, v) => Math.max(m, Math.abs(v)), 0)
  const steepest = largest(gradient)
  for (let iteration = 0; iteration < maxIterations; iteration++) {
    const steep = largest(gradient)
    if (steepest > tolerance)
      onShare(Math.min(1, Math.max(0, Math.log(steepest / steep) / Math.log(steepest / tolerance))))
    if (steep <= tolerance) return { at: x, value, gradient, iterations: iteration, converged: true }
    const p = new Float64Array(n)
    let slope = 0
    for (let i = 0; i < n; i++) {
      let s = 0
      for (let j = 0; j < n; j++) s -= h[i * n + j]! * gradient[j]!
      p[i] = s
      slope += s * gradient[i]!
    }
    let step = 1
    let next = x
    let found: { value: number; gradient: Float64Array } | null = null
    for (let tries = 0; slope < 0 && tries < 40; tries++, step /= 2) {
      next = x.map((v, i) => v + step * p[i]!)
      const there = evaluate(next)
      if (there.value <= value + 1e-4 * step * slope) {
        found = there
        break
      }
    }
    if (!found) {
      if (!fresh) {
        reset()
        fresh = true
        continue
      }
      // No descent along the gradient itself: as low as the arithmetic can see.
      const close = largest(gradient) <= tolerance * 1000
      return { at: x, value, gradient, iterations: iteration, converged: close }
    }
    const s = next.map((v, i) => v - x[i]!)
    const y = found.gradient.map((v, i) => v - gradient[i]!)
    const sy = s.reduce((sum, v, i) => sum + v * y[i]!, 0)
    if (sy > 1e-14) {
      const hy = new Float64Array(n)
      for (let i = 0; i < n; i++) {
        let sum = 0
        for (let j = 0; j < n; j++) sum += h[i * n + j]! * y[j]!
        hy[i] = sum
      }
      const yhy = y.reduce((sum, v, i) => sum + v * hy[i]!, 0)
      for (let i = 0; i < n; i++)
        for (let j = 0; j < n; j++)
          h[i * n + j]! += ((sy + yhy) * s[i]! * s[j]!) / (sy * sy) - (hy[i]! * s[j]! + s[i]! * hy[j]!) / sy
    }
    fresh = false
    x = next
    value = found.value
    gradient = found.gradient
  }
  return { at: x, value, gradient, iterations: maxIterations, converged: false }
}
