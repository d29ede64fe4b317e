/** The page that the browser tests of the player open: one lesson, with a server that lives in the page. */
import { StrictMode } from 'react'
import { createRoot } from 'react-dom/client'
import { ScenarioPlayer } from '@/app/play/player'
import { en } from '@/app/play/words/en'
import { es } from '@/app/play/words/es'
import { gradedView } from '@/lib/scenarios/core/graded'
import { stripScenario } from '@/lib/scenarios/core/strip'
import { textsFor } from '@/lib/scenarios/core/texts'
import type { EquipmentProfile, Locale, PlayEvent, Scenario } from '@/lib/scenarios/schema'
import '@/app/look/tokens.css'
import '@/app/look/base.css'

interface Lesson {
  scenario: Scenario
  profile: EquipmentProfile
  locale: Locale
  mode: 'practice' | 'graded'
}

/** What the tests read and set. */
interface Server {
  log: PlayEvent[]
  finished: number
  /** So many sendings fail from now on. */
  failures: number
}

declare global {
  interface Window {
    lesson: Lesson
    server: Server
  }
}

const { scenario, profile, locale, mode } = window.lesson
const graded = mode === 'graded'
const none: PlayEvent[] = []
window.server = { log: JSON.parse(sessionStorage.getItem('server') ?? '[]'), finished: 0, failures: 0 }
const initial = window.server.log.length > 0 ? [...window.server.log] : none

function receive(events: readonly PlayEvent[], from: number) {
  if (window.server.failures > 0) {
    window.server.failures--
    throw new Error('no connection')
  }
  window.server.log = [...window.server.log.slice(0, from), ...events]
  sessionStorage.setItem('server', JSON.stringify(window.server.log))
}

createRoot(document.getElementById('main')!).render(
  <StrictMode>
    <ScenarioPlayer
      scenario={graded ? stripScenario(scenario, [scenario.start]) : scenario}
      profile={profile}
      locale={locale}
      strings={locale === 'es' ? es : en}
      texts={textsFor(scenario, profile, locale, graded ? { graded, steps: [scenario.start] } : {})}
      mode={mode}
      attemptKey="browser-test"
      initialEvents={initial}
      initialView={graded ? gradedView(scenario, profile, locale, initial) : undefined}
      onEvents={async (events, from) => receive(events, from)}
      advance={async (event, at) => {
        receive([event], at)
        return gradedView(scenario, profile, locale, window.server.log.slice(0, at + 1))
      }}
      onFinish={() => {
        window.server.finished++
      }}
      onLeave={() => {}}
      onAgain={() => {}}
      jobAidHref="#job-aid"
    />
  </StrictMode>,
)
