/** Word lists that both the schema and the browser need: kept apart so that the player doesn't carry the schema. */
export const LOCALES = ['en', 'es'] as const

export const COMPETENCIES = [
  'check-in',
  'right-ballot',
  'card-handling',
  'display-settings',
  'notices-without-steering',
  'verify-and-cast',
  'accounting',
  'access-setup',
  'order-and-safety',
] as const
