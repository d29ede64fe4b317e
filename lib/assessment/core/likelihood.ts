/** Value and gradient of the log-likelihood. Parameters: intercepts of the items, then the slopes (none, one, each). */
export type Likelihood = (x: Float64Array) => { value: number; gradient: Float64Array }
