import { describe, expect, it } from 'vitest'
import { MipModel } from '@/lib/roster/core/mip-model'
import { loadMipSolver } from '@/lib/roster/mip'

/** Choose two of three columns of worth 3, 5 and 4: 9, by hand. */
function twoOfThree(): MipModel {
  const model = new MipModel('max')
  const columns = [3, 5, 4].map((worth) => model.column(worth, 0, 1, true))
  model.row(columns, [1, 1, 1], 0, 2)
  return model
}

describe("the solver's thread", () => {
  it('fails promptly when its JavaScript memory runs out, and the next model has a fresh one', () => {
    // Too little for the solver's module itself: the thread is ended by the engine in the middle of it.
    const starved = loadMipSolver({ maxOldGenerationSizeMb: 3 })
    expect(starved(twoOfThree(), { nodes: 10 })).toMatchObject({ status: 'failed', values: null })
    expect(loadMipSolver()(twoOfThree(), { nodes: 10 })).toMatchObject({ status: 'optimal', objective: 9 })
  }, 20_000)
})
