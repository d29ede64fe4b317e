import pino from 'pino'

/** Structured log on standard error. Never a name, address, party, code or answer. */
export const log = pino({ level: 'info', base: null }, pino.destination(2))
