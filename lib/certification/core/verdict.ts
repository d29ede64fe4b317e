import type { BothLanguages } from '../schema'

/** Why a credential was refused; each has its own sentence for the person who checks it. */
export const REFUSALS = {
  notACredential: {
    en: 'This is not a signed certificate. Paste the whole text, with its two dots.',
    es: 'Esto no es un certificado firmado. Pegue el texto completo, con sus dos puntos.',
  },
  headerNotAllowed: {
    en: 'The certificate’s header holds something that the standard does not allow.',
    es: 'El encabezado del certificado contiene algo que la norma no permite.',
  },
  algorithmNotAllowed: {
    en: 'The certificate is signed in a way that this office does not use.',
    es: 'El certificado está firmado de una manera que esta oficina no usa.',
  },
  unknownKey: {
    en: 'The key that signed this certificate is not, or no longer, among the keys that the office publishes.',
    es: 'La clave que firmó este certificado no está, o ya no está, entre las claves que publica la oficina.',
  },
  keyReplaced: {
    en: 'The office has replaced the key that signed this file, and files signed with it count no more. The holder can download the file again; the number on paper stays good.',
    es: 'La oficina reemplazó la clave que firmó este archivo y los archivos firmados con ella ya no valen. El titular puede descargar el archivo de nuevo; el número en papel sigue siendo válido.',
  },
  keyWithdrawn: {
    en: 'The office has withdrawn the key that signed this certificate. Ask the office for a new certificate.',
    es: 'La oficina retiró la clave que firmó este certificado. Pida un certificado nuevo a la oficina.',
  },
  signatureInvalid: {
    en: 'The signature does not fit: the certificate was changed after it was signed, or was not signed by this office.',
    es: 'La firma no coincide: el certificado se cambió después de firmarse o no lo firmó esta oficina.',
  },
  notAnOpenBadge: {
    en: 'The signature is good, but the content is not an Open Badges 3.0 certificate.',
    es: 'La firma es correcta, pero el contenido no es un certificado Open Badges 3.0.',
  },
  claimsDisagree: {
    en: 'The signed claims and the certificate inside do not say the same.',
    es: 'Los datos firmados y el certificado que contienen no dicen lo mismo.',
  },
  wrongIssuer: {
    en: 'The certificate was issued by somebody else than the office asked about.',
    es: 'El certificado lo emitió alguien distinto de la oficina consultada.',
  },
  notYetValid: {
    en: 'The certificate is not valid yet.',
    es: 'El certificado todavía no es válido.',
  },
  expired: {
    en: 'The certificate has expired.',
    es: 'El certificado ha vencido.',
  },
  revoked: {
    en: 'The office has revoked this certificate.',
    es: 'La oficina revocó este certificado.',
  },
  notOnRecord: {
    en: 'The signature is good, but the office has no record of this certificate. Ask the office.',
    es: 'La firma es correcta, pero la oficina no tiene registro de este certificado. Pregunte a la oficina.',
  },
  statusUnknown: {
    en: 'Whether the certificate was revoked cannot be checked: its status list is missing.',
    es: 'No se puede comprobar si el certificado fue revocado: falta su lista de estado.',
  },
  statusListUnusable: {
    en: 'Whether the certificate was revoked cannot be checked: the status list is out of date or not the office’s own.',
    es: 'No se puede comprobar si el certificado fue revocado: la lista de estado está vencida o no es de la oficina.',
  },
} as const satisfies Record<string, BothLanguages>

export type RefusalReason = keyof typeof REFUSALS

export type Verdict =
  | {
      valid: true
      holderName: string | null
      role: string | null
      serial: string | null
      certificate: string
      issuerId: string
      issuerName: string | null
      /** Instants, UTC. Valid from the first until before the second. */
      validFrom: string
      validUntil: string | null
      /** False: it names no status list, or none was given and none was demanded. */
      statusChecked: boolean
    }
  | { valid: false; reason: RefusalReason; sentence: BothLanguages; detail: string | null }

export const refuse = (reason: RefusalReason, detail: string | null = null): Verdict & { valid: false } => ({
  valid: false,
  reason,
  sentence: REFUSALS[reason],
  detail,
})
