import { z } from 'zod'

/** The county of the page's address, only for the way back; the command looks the real one up. */
export const countyIn = { countyId: z.string().regex(/^[a-z0-9-]{1,100}$/i) }
