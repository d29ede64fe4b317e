import { MarksInput, responsesOf } from '@/lib/assessment/calc-input'
import { fitLatentModel } from '@/lib/assessment/core/latent-model'
import { defineCalculation } from '../calculation'

export default defineCalculation({
  input: MarksInput,
  run: (input) => {
    const { difficulties, discriminations, logLikelihood } = fitLatentModel(
      responsesOf(input),
      'one-parameter',
    )
    return { difficulties, discrimination: discriminations.find((d) => d !== null)!, logLikelihood }
  },
})
