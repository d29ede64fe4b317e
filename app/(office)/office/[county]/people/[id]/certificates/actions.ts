'use server'
import {
  GiveBackCertificateInput,
  giveBackCertificate,
  RevokeCertificateInput,
  revokeCertificate,
} from '@/lib/certification/commands-revoke'
import { defineAction } from '@/lib/web/define-action'

const back = (at: { countyId: string; workerId: string }, said: string) => ({
  goTo: `/office/${at.countyId}/people/${at.workerId}/certificates?said=${said}`,
})

export const revokeCertificateAction = defineAction(RevokeCertificateInput, async (actor, input) =>
  back(await revokeCertificate(actor, input), 'revoked'),
)

export const giveBackCertificateAction = defineAction(GiveBackCertificateInput, async (actor, input) =>
  back(await giveBackCertificate(actor, input), 'returned'),
)
