'use client'
import { ScenarioPlayer, type ScenarioPlayerProps } from './player'
import { es } from './words/es'

const PlayerInSpanish = (props: Omit<ScenarioPlayerProps, 'strings'>) => (
  <ScenarioPlayer {...props} strings={es} />
)
export default PlayerInSpanish
