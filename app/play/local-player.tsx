'use client'
import dynamic from 'next/dynamic'
import type { ScenarioPlayerProps } from './player'

const InEnglish = dynamic(() => import('./player-en'))
const InSpanish = dynamic(() => import('./player-es'))

/** The player with the words of one language only: a phone on a slow line loads half as many. */
export const LocalPlayer = (props: Omit<ScenarioPlayerProps, 'strings'>) =>
  props.locale === 'es' ? <InSpanish {...props} /> : <InEnglish {...props} />
