'use server'
import { RevokeFactInput, revokeFact } from '@/lib/certification/commands'
import { EarlierTrainingInput, recordEarlierTraining } from '@/lib/certification/commands-earlier'
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

export const recordEarlierTrainingAction = defineAction(EarlierTrainingInput, async (actor, input) => {
  await recordEarlierTraining(actor, input)
  return back(input, 'trained')
})

export const revokeEarlierTrainingAction = defineAction(RevokeFactInput, async (actor, input) =>
  back(await revokeFact(actor, input), 'untrained'),
)

export const revokeCertificateAction = defineAction(RevokeCertificateInput, async (actor, input) =>
  back(await revokeCertificate(actor, input), 'revoked'),
)

export const giveBackCertificateAction = defineAction(GiveBackCertificateInput, async (actor, input) =>
  back(await giveBackCertificate(actor, input), 'returned'),
)
