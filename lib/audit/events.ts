/** Every change that is audited, with what its record says. Ids and plain choices only: no names, addresses, parties,
 *  codes or answers. A new kind of change is added here first; `appendAudit` accepts nothing else. */
export type AuditEvent =
  | {
      event: 'county.seeded'
      subject: `county:${string}`
      detail: { people: number; places: number; precincts: number }
    }
  | { event: 'account.created'; subject: `account:${string}`; detail: { access: string } }
  | { event: 'account.disabled'; subject: `account:${string}`; detail: Record<string, never> }
  | { event: 'account.authenticator-set'; subject: `account:${string}`; detail: Record<string, never> }
  | { event: 'account.enabled'; subject: `account:${string}`; detail: Record<string, never> }
  | { event: 'account.authenticator-removed'; subject: `account:${string}`; detail: Record<string, never> }
  | { event: 'account.password-set'; subject: `account:${string}`; detail: Record<string, never> }
  | {
      event: 'account.preferences-set'
      subject: `account:${string}`
      detail: { locale?: string; theme?: string; textSize?: string }
    }
  | {
      event: 'sign-in.started'
      subject: `account:${string}`
      detail: { signInId: string; method: string; sharedTablet: boolean }
    }
  | { event: 'sign-in.ended'; subject: `account:${string}`; detail: { signInId: string; reason: string } }
  | { event: 'sign-in.code-sent'; subject: `account:${string}`; detail: { kind: string } }
  | { event: 'sign-in.card-printed'; subject: `account:${string}`; detail: { validUntil: string } }
  | { event: 'sign-in.cards-revoked'; subject: `account:${string}`; detail: { cards: number } }
  | { event: 'sign-in.tablet-set'; subject: `account:${string}`; detail: { tabletId: string; on: boolean } }
  | { event: 'county.settings-changed'; subject: `county:${string}`; detail: { changed: string[] } }
  | {
      event: 'attempt.started'
      subject: `attempt:${string}`
      detail: { kind: string; key: string; definitionHash: string }
    }
  | {
      event: 'attempt.finished'
      subject: `attempt:${string}`
      detail: { kind: string; key: string; scoreFraction: number; passed: boolean }
    }
  | {
      event: 'fact.recorded'
      subject: `worker:${string}`
      detail: { factId: string; kind: string; topic: string; happenedOn: string }
    }
  | { event: 'fact.revoked'; subject: `worker:${string}`; detail: { factId: string; revokesFactId: string } }
  | {
      event: 'certificate.issued'
      subject: `worker:${string}`
      detail: { issueId: string; certificateKey: string; validFrom: string; validUntil: string | null }
    }
  | { event: 'certificate.withdrawn'; subject: `worker:${string}`; detail: { issueId: string } }
  | {
      event: 'certificates.brought-up-to-date'
      subject: `county:${string}`
      detail: { issued: number; withdrawn: number }
    }
  | {
      event: 'certificate.revoked'
      subject: `worker:${string}`
      detail: { certificateId: string; factId: string }
    }
  | {
      event: 'certificate.given-back'
      subject: `worker:${string}`
      detail: { certificateId: string; factId: string }
    }
  | { event: 'certificate.signed'; subject: `worker:${string}`; detail: { issueId: string; keyId: string } }
  | { event: 'issuer-key.made'; subject: `county:${string}`; detail: { keyId: string } }
  | {
      event: 'issuer-key.rotated'
      subject: `county:${string}`
      detail: { oldKeyId: string; newKeyId: string }
    }
  | {
      event: 'issuer-key.expired'
      subject: `county:${string}`
      detail: { keyId: string; credentials: number }
    }
  | {
      event: 'issuer-key.withdrawn'
      subject: `county:${string}`
      detail: { keyId: string; credentials: number }
    }
  | { event: 'list.exported'; subject: `county:${string}`; detail: { list: string; rows: number } }
  | { event: 'worker.record-exported'; subject: `worker:${string}`; detail: { format: string } }
  | {
      event: 'worker.wish-set'
      subject: `worker:${string}`
      detail: { positionKey: string; offersShift?: string }
    }
  | { event: 'spans.rebuilt'; subject: `county:${string}`; detail: { people: number; changed: number } }
  | { event: 'roster.run-asked'; subject: `election:${string}`; detail: { runId: string } }
  | { event: 'roster.run-cancelled'; subject: `election:${string}`; detail: { runId: string } }
  | {
      event: 'roster.filled'
      subject: `election:${string}`
      detail: { runId: string; rosterId: string; revision?: number; filled: number; seats: number }
    }
  | {
      event: 'roster.seat-changed'
      subject: `election:${string}`
      detail: {
        rosterId: string
        /** Of the roster after the change (since November 2026). */
        revision?: number
        seatId: string
        /** Where it is about one half of the seat's day. */
        shift?: 'full' | 'morning' | 'afternoon'
        fromWorkerId: string | null
        toWorkerId: string | null
      }
    }
  | {
      event: 'roster.seat-locked'
      subject: `election:${string}`
      detail: {
        rosterId: string
        revision?: number
        seatId: string
        /** Where it is about one half of the seat's day. */
        shift?: 'full' | 'morning' | 'afternoon'
        locked: boolean
      }
    }
  | {
      event: 'roster.swapped'
      subject: `election:${string}`
      detail: { rosterId: string; revision?: number; seatIds: [string, string] }
    }
  | {
      event: 'roster.published'
      subject: `election:${string}`
      /** `overParty`: crews with more of one party than the county's rules allow. */
      detail: { rosterId: string; version: number; filled: number; seats: number; overParty: number }
    }
  | { event: 'worker.offer-changed'; subject: `worker:${string}`; detail: { changed: string[] } }
  | { event: 'class.made'; subject: `class:${string}`; detail: { topic: string; seats: number } }
  | { event: 'class.changed'; subject: `class:${string}`; detail: { revision: number; changed: string[] } }
  | { event: 'class.cancelled'; subject: `class:${string}`; detail: { bookings: number } }
  | { event: 'class.closed'; subject: `class:${string}`; detail: { attended: number; noShows: number } }
  | {
      event: 'class.booked' | 'class.booking-cancelled'
      subject: `class:${string}`
      detail: { workerId: string }
    }
  | {
      event: 'class.signed-in'
      subject: `class:${string}`
      detail: { workerId: string; here: boolean }
    }
  | {
      event: 'rules.published'
      subject: `county:${string}`
      detail: { certificateKey: string; version: number; effectiveFrom: string }
    }
  | {
      event: 'reminders.asked' | 'reminders.written'
      subject: `county:${string}`
      detail: { batchId: string }
    }
  | { event: 'letters.printed'; subject: `county:${string}`; detail: { batchId: string; letters: number } }
  | { event: 'letter.returned'; subject: `worker:${string}`; detail: { reminderId: string } }
  | { event: 'worker.called'; subject: `worker:${string}`; detail: { outcome: string } }
  | {
      event: 'job.retried' | 'job.removed'
      subject: `job:${string}`
      detail: { task: string }
    }
  | { event: 'message.sent-again'; subject: `message:${string}`; detail: { kind: string } }
  | { event: 'view.kept' | 'view.removed'; subject: `account:${string}`; detail: { viewId: string } }
  | { event: 'worker.corrected'; subject: `worker:${string}`; detail: { changed: string[] } }
  | {
      event: 'worker.correction-asked' | 'worker.correction-answered'
      subject: `worker:${string}`
      detail: { requestId: string }
    }
  | { event: 'worker.note-written'; subject: `worker:${string}`; detail: { noteId: string } }
  | {
      event: 'worker.excluded' | 'worker.exclusion-taken-back'
      subject: `worker:${string}`
      detail: { exclusionId: string }
    }
  | {
      event: 'worker.paired' | 'worker.pair-taken-back'
      subject: `worker:${string}`
      detail: { pairId: string }
    }
  | {
      event: 'worker.pay-recorded' | 'worker.pay-taken-back'
      subject: `worker:${string}`
      detail: { payEntryId: string }
    }
  | {
      event: 'workers.changed-together'
      subject: `county:${string}`
      detail: { change: string; people: number; workerIds: string[] }
    }
  | { event: 'place.made'; subject: `place:${string}`; detail: { code: string } }
  | { event: 'place.changed'; subject: `place:${string}`; detail: { changed: string[] } }
  | { event: 'place.surveyed'; subject: `place:${string}`; detail: { surveyId: string } }
  | {
      event: 'place.moved'
      subject: `place:${string}`
      detail: { moveId: string; electionId: string; peopleTold: number }
    }
  | {
      event: 'election.made'
      subject: `election:${string}`
      detail: { heldOn: string; fromElectionId: string | null; seats: number }
    }
  | { event: 'county.made'; subject: `county:${string}`; detail: Record<string, never> }
  | {
      event: 'position.made' | 'position.changed'
      subject: `county:${string}`
      detail: { key: string; certificateKey: string }
    }
  | { event: 'places.hours-set'; subject: `county:${string}`; detail: { places: number } }
  | { event: 'crew-rules.published'; subject: `county:${string}`; detail: { version: number } }
  | {
      event: 'crew.changed-by-hand'
      subject: `election:${string}`
      detail: { pollingPlaceId: string; positionKey: string; servesOn: string; shift: string; change: number }
    }
  | {
      event: 'crews.applied'
      subject: `election:${string}`
      detail: { rulesVersion: number; added: number; removed: number }
    }
  | {
      event: 'papers.asked' | 'papers.cancelled'
      subject: `election:${string}`
      /** With the sending whose letters they are. */
      detail: { orderId: string; sendingId?: string }
    }
  | {
      event: 'papers.made'
      subject: `election:${string}`
      detail: { orderId: string; sendingId?: string; files: number; pages: number }
    }
  | {
      event: 'papers.downloaded'
      subject: `election:${string}`
      detail: { orderId: string; sendingId?: string; number: number }
    }
  | {
      event: 'offers.asked' | 'offers.stopped'
      subject: `election:${string}`
      detail: { sendingId: string; answerBy: string }
    }
  | {
      event: 'offers.made'
      subject: `election:${string}`
      detail: { sendingId: string; offers: number; mails: number; letters: number }
    }
  | {
      event: 'offers.extended'
      subject: `election:${string}`
      detail: { answerBy: string; offers: number }
    }
  | {
      event: 'offers.letters-printed'
      subject: `election:${string}`
      detail: { sendingId: string | null; letters: number }
    }
  | {
      event: 'offer.made'
      subject: `worker:${string}`
      detail: { offerId: string; seatId: string; answerBy: string }
    }
  | {
      event: 'offer.answered'
      subject: `worker:${string}`
      detail: { offerId: string; answer: string; via: string }
    }
  | {
      event: 'offer.extended' | 'offer.withdrawn' | 'offer.called' | 'offer.letter-returned'
      subject: `worker:${string}`
      detail: { offerId: string }
    }
  | { event: 'roster.exported'; subject: `election:${string}`; detail: { rosterId: string; format: string } }
  | { event: 'import.uploaded'; subject: `import:${string}`; detail: { kind: string; bytes: number } }
  | { event: 'import.cancelled' | 'import.dropped'; subject: `import:${string}`; detail: { kind: string } }
  | {
      event: 'import.applied'
      subject: `import:${string}`
      detail: { kind: string; created: number; changed: number; same: number }
    }
  | {
      event: 'people.merged' | 'people.merge-undone'
      subject: `worker:${string}`
      detail: { mergeId: string; mergedId: string; fields: string[] }
    }
  | { event: 'people.not-the-same'; subject: `worker:${string}`; detail: { otherId: string } }
  | {
      event: 'panel.begun'
      subject: `panel:${string}`
      detail: { quizKey: string; judges: number; items: number }
    }
  | { event: 'panel.rated'; subject: `panel:${string}`; detail: { judge: number; round: number } }
  | {
      event: 'panel.closed'
      subject: `panel:${string}`
      detail: { fraction: number; standardError: number | null }
    }
  | {
      event: 'pass-mark.adopted'
      subject: `panel:${string}`
      detail: { quizKey: string; cutFraction: number }
    }
  | { event: 'paper-form.drawn'; subject: `attempt:${string}`; detail: { quizKey: string } }
  | { event: 'paper-form.withdrawn'; subject: `attempt:${string}`; detail: { why: string } }
  | { event: 'paper-form.typed'; subject: `attempt:${string}`; detail: { round: number; agreed: boolean } }
  | {
      event: 'appeal.entered'
      subject: `attempt:${string}`
      detail: { appealId: string; questionId: string; askedOn?: string }
    }
  | {
      event: 'appeal.decided'
      subject: `attempt:${string}`
      detail: { appealId: string; questionId: string; decision: string }
    }
  | {
      event: 'quiz.re-marked'
      subject: `quiz:${string}`
      detail: { remarkId: string; questionId: string; mend: string; attempts: number; changed: number }
    }
  | {
      event: 'quiz.re-mark-asked'
      subject: `quiz:${string}`
      detail: { workId: string; questionId: string; mend: string; changed: number }
    }
  | { event: 'quiz.re-mark-stopped'; subject: `quiz:${string}`; detail: { workId: string } }
  | {
      event: 'attempt.re-marked'
      subject: `attempt:${string}`
      detail: { remarkId: string; scoreFraction: number; passed: boolean }
    }

export type AuditEventName = AuditEvent['event']

/** How long a record is kept. Federal election records: 22 months (52 U.S.C. 20701); a county may keep them longer. */
export type RetentionClass = 'election-22-months' | 'account-22-months'

export const retentionOf = (event: AuditEventName): RetentionClass =>
  event.startsWith('account.') || event.startsWith('sign-in.') ? 'account-22-months' : 'election-22-months'
