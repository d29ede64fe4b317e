import { z } from 'zod'
import { type CivilDate, isCivilDate } from './dates'

/** A civil date in JSON or a form field. */
export const CivilDateInput = z.custom<CivilDate>(isCivilDate, 'Give a day like 2028-11-07.')
