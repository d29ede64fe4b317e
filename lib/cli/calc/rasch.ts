import { MarksInput, responsesOf } from '@/lib/assessment/calc-input'
import { fitLatentModel } from '@/lib/assessment/core/latent-model'
import { defineCalculation } from '../calculation'

export default defineCalculation({
  input: MarksInput,
  run: (input) => {
    const { difficulties, logLikelihood } = fitLatentModel(responsesOf(input), 'rasch')
    return { difficulties, logLikelihood }
  },
})
