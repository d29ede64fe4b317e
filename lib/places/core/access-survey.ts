/** What is measured at a place so that everybody can get in and vote, with the numbers that it is held against. Inches
 *  unless the unit says otherwise. `read`: the number was read in a public source; otherwise it is from memory of the
 *  standard, and the page says so. A county may ask for more.
 *  Sources: DOJ, ADA Checklist for Polling Places (2004), measurements; 2010 ADA Standards for Accessible Design. */
export interface Measure {
  key: string
  label: string
  unit: string
  atLeast?: number
  atMost?: number
  source: string
  read: boolean
}

const CHECKLIST = 'ADA Checklist for Polling Places (DOJ, 2004)'
const STANDARDS = '2010 ADA Standards'

export const MEASURES = [
  {
    key: 'vanSpaceWidth',
    label: 'Van-accessible parking space: width',
    unit: 'inches',
    atLeast: 132,
    source: `${STANDARDS} 502.2 (or 96 with an aisle of 96)`,
    read: false,
  },
  {
    key: 'accessAisleWidth',
    label: 'Aisle beside the parking space: width',
    unit: 'inches',
    atLeast: 60,
    source: `${STANDARDS} 502.3.1`,
    read: false,
  },
  {
    key: 'vanClearance',
    label: 'Way to the van space: height',
    unit: 'inches',
    atLeast: 98,
    source: `${STANDARDS} 502.5`,
    read: true,
  },
  {
    key: 'routeWidth',
    label: 'Way from parking to the voting room: narrowest',
    unit: 'inches',
    atLeast: 36,
    source: `${STANDARDS} 403.5.1 (32 for at most 24 in length)`,
    read: false,
  },
  {
    key: 'steepestSlope',
    label: 'Steepest slope on the way',
    unit: 'percent',
    atMost: 8.33,
    source: `${CHECKLIST}: 2 in. of drop in 24 in.`,
    read: true,
  },
  {
    key: 'rampWidth',
    label: 'Ramp: width between the handrails',
    unit: 'inches',
    atLeast: 36,
    source: `${STANDARDS} 405.5`,
    read: false,
  },
  {
    key: 'rampRise',
    label: 'Ramp: rise of one run',
    unit: 'inches',
    atMost: 30,
    source: `${STANDARDS} 405.6`,
    read: false,
  },
  {
    key: 'doorWidth',
    label: 'Doors: clear width, the narrowest',
    unit: 'inches',
    atLeast: 32,
    source: `${CHECKLIST}; ${STANDARDS} 404.2.3`,
    read: true,
  },
  {
    key: 'threshold',
    label: 'Thresholds: the highest',
    unit: 'inches',
    atMost: 0.5,
    source: `${STANDARDS} 404.2.5`,
    read: false,
  },
  {
    key: 'doorForce',
    label: 'Handles: force to work them',
    unit: 'pounds',
    atMost: 5,
    source: `${STANDARDS} 309.4`,
    read: false,
  },
  {
    key: 'protrusion',
    label: 'What sticks out over the way, 27 to 80 in. high: how far',
    unit: 'inches',
    atMost: 4,
    source: `${CHECKLIST}; ${STANDARDS} 307.2`,
    read: true,
  },
  {
    key: 'turningCircle',
    label: 'Room to turn in at the voting station: across',
    unit: 'inches',
    atLeast: 60,
    source: `${STANDARDS} 304.3.1`,
    read: false,
  },
  {
    key: 'tableHeight',
    label: 'Accessible voting surface: height',
    unit: 'inches',
    atLeast: 28,
    atMost: 34,
    source: `${STANDARDS} 902.3`,
    read: false,
  },
  {
    key: 'counterHeight',
    label: 'Check-in table: height',
    unit: 'inches',
    atMost: 36,
    source: `${STANDARDS} 904.4`,
    read: false,
  },
] as const satisfies readonly Measure[]

export type Measures = Partial<Record<string, number>>

export interface Assessed {
  measure: Measure
  value: number | null
  /** `unknown`: not measured. */
  verdict: 'meets' | 'falls-short' | 'unknown'
}

/** Each measure with what was found and whether that meets its number (the number itself does). */
export const assess = (found: Measures): Assessed[] =>
  MEASURES.map((measure: Measure) => {
    const value = found[measure.key] ?? null
    if (value === null) return { measure, value, verdict: 'unknown' }
    const meets =
      (measure.atLeast === undefined || value >= measure.atLeast) &&
      (measure.atMost === undefined || value <= measure.atMost)
    return { measure, value, verdict: meets ? 'meets' : 'falls-short' }
  })
