'use client'
import { ScenarioPlayer, type ScenarioPlayerProps } from './player'
import { en } from './words/en'

const PlayerInEnglish = (props: Omit<ScenarioPlayerProps, 'strings'>) => (
  <ScenarioPlayer {...props} strings={en} />
)
export default PlayerInEnglish
