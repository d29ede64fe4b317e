/** Who may do what: every server action and route handler × every kind of access × own and other county. A new action
 *  or route that is not in the table fails the first test. */
import { randomUUID } from 'node:crypto'
import { readdirSync, readFileSync } from 'node:fs'
import path from 'node:path'
import { pathToFileURL } from 'node:url'
import { beforeAll, describe, expect, it, vi } from 'vitest'
import type { Actor } from '@/lib/auth/actor'
import { db } from '@/lib/db/client'
import { civilDate, civilDateAt } from '@/lib/kernel/dates'
import { MEASURES } from '@/lib/places/core/access-survey'
import type { Outcome } from '@/lib/web/outcome'
import { Access } from '@/prisma/client/enums'
import { seedIfEmpty } from '@/prisma/seed/seed'
import { useDatabase } from '@/tests/support/database'

const asked = vi.hoisted(() => ({ actor: null as unknown }))
vi.mock('@/lib/auth/session', () => ({
  currentActor: async () => asked.actor,
  requireActor: async () => asked.actor,
  currentSignInId: async () => null,
}))
vi.mock('next/headers', () => ({
  cookies: async () => ({ get: () => undefined, set: () => undefined, delete: () => undefined }),
  headers: async () => new Headers(),
}))
vi.mock('next-intl/server', () => ({
  getTranslations: async () => (key: string) => key,
  getRequestConfig: (make: unknown) => make,
}))
vi.mock('next/cache', () => ({ refresh: () => undefined, revalidatePath: () => undefined }))
vi.mock('next/navigation', () => ({
  redirect: (to: string) => {
    throw Object.assign(new Error('redirect'), { digest: `NEXT_REDIRECT;${to}` })
  },
  notFound: () => {
    throw Object.assign(new Error('not found'), { digest: 'NEXT_HTTP_ERROR_FALLBACK;404' })
  },
}))

useDatabase()

/** Ids of Larkmoor that the inputs name. */
interface World {
  import: string
  merge: string
  worker: string
  otherWorker: string
  election: string
  place: string
  seat: string
  seat2: string
  /** A packet that is done; a sending of offers that is over, and its letters. */
  order: string
  sending: string
  letters: string
  staffAccount: string
  signIn: string
  fact: string
  oath: string
  earlier: string
  batch: string
  reminder: string
  class: string
  pastClass: string
  workerRef: string
  attempt: string
  quiz: string
  rosterMark: string
  certificate: string
  offer: string
  offer2: string
  correction: string
  issue: string
  key: string
  message: string
  panel: string
  /** A marked quiz of the poll worker's, a question of it, and somebody else's appeal. */
  marked: string
  question: string
  appeal: string
  countyRef: string
  /** A form on paper. */
  paper: string
  /** Number of the question that is a story. */
  story: number
}
let world: World
let workerOf: Record<string, string>
/** Real accounts, so that what an action writes about its own account can be written. */
let accountOf: Record<string, string>

type Who = Access
interface ActionRow {
  /** Form fields that pass the schema, naming things of Larkmoor. */
  fields: (w: World) => Record<string, string>
  /** Kinds of access in Larkmoor that may. */
  may: Who[]
  /** What belongs to the signed-in person alone: no county decides. */
  own?: true
  /** The state office's alone: no county's account may, whatever its kind. */
  ofState?: true
  /** Refused for another reason once authorised (a wrong password, a person who isn't certified): still let in. */
  refusedInside?: true
  /** Ends one's own sign-in when it works, and so leads to the sign-in page. */
  endsAtSignIn?: true
}

const STAFF: Who[] = ['countyStaff']
const reminders = 'app/(office)/office/[county]/reminders/actions.ts'
const TRAINERS: Who[] = ['trainer', 'countyStaff']
const classes = 'app/(training)/training/[county]/classes/actions.ts'
const classFields = () => ({
  countyId: 'larkmoor',
  topic: 'lead-class',
  positionKey: '',
  locale: 'en',
  placeName: 'Hall',
  placeAddress: '1 Road',
  on: '2031-05-06',
  from: '18:00',
  until: '20:00',
  seats: '400',
  trainerName: 'T',
  note: '',
})
const EVERYBODY: Who[] = ['pollWorker', 'trainer', 'countyStaff', 'administrator']
const seat = (w: World) => ({
  countyId: 'larkmoor',
  electionId: w.election,
  seatId: w.seat,
  expected: w.rosterMark,
})
const account = (w: World) => ({ accountId: w.staffAccount })
const election = 'app/(office)/office/[county]/elections/[id]'
const offers = `${election}/offers`
const offer = (w: World) => ({ countyId: 'larkmoor', electionId: w.election, offerId: w.offer })
const people = 'app/(office)/office/[county]/people'
const person = `${people}/[id]/actions.ts`
const who = (w: World) => ({ countyId: 'larkmoor', workerId: w.worker })
const crews = 'app/(office)/office/[county]/crews/actions.ts'
const places = 'app/(office)/office/[county]/places/actions.ts'
const at = (w: World) => ({ countyId: 'larkmoor', placeId: w.place })
const OFFICE: Who[] = ['countyStaff', 'administrator']
const quizPages = 'app/(training)/training/[county]/quizzes/[quiz]'
const panel = (w: World) => ({ countyId: 'larkmoor', panelId: w.panel })
const admin = 'app/(admin)/admin/[county]/actions.ts'

const duplicates = 'app/(office)/office/[county]/people/duplicates/actions.ts'

const ACTIONS: Record<string, ActionRow> = {
  'app/(training)/training/[county]/[worker]/actions.ts#recordCheckOffAction': {
    fields: (w) => ({
      workerId: w.worker,
      mark: 'card-handling:done',
      equipmentProfile: 'fern',
      on: '2026-01-15',
      formKey: randomUUID(),
    }),
    may: ['trainer', 'countyStaff'],
  },
  'app/(training)/training/[county]/[worker]/actions.ts#revokeCheckOffAction': {
    fields: (w) => ({ factId: w.fact, reason: 'seen on the wrong day' }),
    may: ['trainer', 'countyStaff'],
  },
  [`${classes}#makeClassAction`]: { fields: classFields, may: TRAINERS },
  [`${classes}#changeClassAction`]: {
    fields: (w) => ({ ...classFields(), classId: w.class, revision: '0' }),
    may: TRAINERS,
  },
  // Of a class that nobody can change any more: who is let in is told that.
  [`${classes}#cancelClassAction`]: { fields: (w) => ({ classId: w.pastClass }), may: TRAINERS },
  [`${classes}#closeClassAction`]: { fields: (w) => ({ classId: w.pastClass }), may: TRAINERS },
  [`${classes}#bookForAction`]: {
    fields: (w) => ({ classId: w.class, countyRef: w.workerRef }),
    may: TRAINERS,
  },
  [`${classes}#giveUpForAction`]: {
    fields: (w) => ({ classId: w.pastClass, workerId: w.worker }),
    may: TRAINERS,
  },
  [`${classes}#signInAction`]: {
    fields: (w) => ({ classId: w.class, workerId: w.worker, here: 'yes' }),
    may: TRAINERS,
  },
  [`${offers}/actions.ts#sendOffersAction`]: {
    fields: (w) => ({ countyId: 'larkmoor', electionId: w.election, answerBy: '2026-10-20' }),
    may: STAFF,
    refusedInside: true,
  },
  [`${offers}/actions.ts#stopSendingAction`]: {
    fields: (w) => ({ countyId: 'larkmoor', electionId: w.election }),
    may: STAFF,
  },
  [`${offers}/actions.ts#askLettersAction`]: {
    fields: (w) => ({ countyId: 'larkmoor', electionId: w.election, sendingId: w.sending }),
    may: STAFF,
  },
  [`${offers}/actions.ts#stopLettersAction`]: {
    fields: (w) => ({ countyId: 'larkmoor', electionId: w.election, sendingId: w.sending }),
    may: STAFF,
    refusedInside: true,
  },
  [`${offers}/actions.ts#extendAllAction`]: {
    fields: (w) => ({ countyId: 'larkmoor', electionId: w.election, answerBy: '2026-10-20' }),
    may: STAFF,
    refusedInside: true,
  },
  [`${offers}/actions.ts#offerSettingsAction`]: {
    fields: () => ({
      countyId: 'larkmoor',
      officePhone: '555-0142',
      officeHours: '8 to 5',
      arriveBefore: '60',
      leaveAfter: '60',
      changeAt: '13:00',
    }),
    may: STAFF,
  },
  [`${offers}/[offer]/actions.ts#logCallAction`]: {
    fields: (w) => ({ ...offer(w), outcome: 'noAnswer', note: '' }),
    may: STAFF,
  },
  [`${offers}/[offer]/actions.ts#recordAnswerAction`]: {
    fields: (w) => ({ ...offer(w), answer: 'askedElsewhere', reason: '', note: '', via: 'phone' }),
    may: STAFF,
  },
  [`${offers}/[offer]/actions.ts#letterReturnedAction`]: { fields: offer, may: STAFF },
  [`${offers}/[offer]/actions.ts#extendOfferAction`]: {
    fields: (w) => ({ ...offer(w), answerBy: '2026-10-20' }),
    may: STAFF,
    refusedInside: true,
  },
  // A new person for a seat that nobody gave up: who is let in is told that.
  [`${offers}/[offer]/actions.ts#replaceAction`]: {
    fields: (w) => ({ ...offer(w), workerId: w.otherWorker, answerBy: '2026-10-20' }),
    may: STAFF,
    refusedInside: true,
  },
  [`${offers}/[offer]/actions.ts#withdrawOfferAction`]: {
    fields: (w) => ({ ...offer(w), offerId: w.offer2, note: '' }),
    may: STAFF,
  },
  'app/(worker)/offers/actions.ts#answerOffersAction': {
    fields: (w) => ({ 'offerIds[]': w.offer, answer: 'accepted', reason: '', note: '' }),
    may: ['pollWorker'],
  },
  'app/(training)/training/[county]/oath/actions.ts#recordOathAction': {
    fields: (w) => ({
      countyId: 'larkmoor',
      electionId: w.election,
      'workerIds[]': w.otherWorker,
      administeredBy: 'Dana Reyes, deputy clerk',
      on: '2026-01-15',
    }),
    may: TRAINERS,
  },
  'app/(training)/training/[county]/oath/actions.ts#revokeOathAction': {
    fields: (w) => ({ factId: w.oath, reason: 'another person' }),
    may: TRAINERS,
  },
  'app/(worker)/classes/actions.ts#bookClassAction': {
    fields: (w) => ({ classId: w.class }),
    may: ['pollWorker'],
  },
  'app/(worker)/classes/actions.ts#giveUpAction': {
    fields: (w) => ({ classId: w.class }),
    may: ['pollWorker'],
  },
  [`${quizPages}/actions.ts#refreshStatisticsAction`]: {
    fields: () => ({ countyId: 'larkmoor', quizKey: 'polls-basics' }),
    may: ['trainer', 'countyStaff', 'administrator'],
  },
  [`${quizPages}/paper/actions.ts#drawPaperAction`]: {
    fields: (w) => ({ countyId: 'larkmoor', quizKey: 'polls-basics', countyRef: w.countyRef, locale: 'en' }),
    may: ['trainer', 'countyStaff'],
  },
  [`${quizPages}/paper/actions.ts#typePaperAction`]: {
    fields: (w) => ({
      countyId: 'larkmoor',
      quizKey: 'polls-basics',
      attemptId: w.paper,
      satOn: civilDateAt(new Date(), 'America/Chicago'),
    }),
    may: ['trainer', 'countyStaff'],
  },
  [`${quizPages}/paper/actions.ts#withdrawPaperAction`]: {
    fields: (w) => ({
      countyId: 'larkmoor',
      quizKey: 'polls-basics',
      attemptId: w.paper,
      why: 'lost',
      note: '',
    }),
    may: TRAINERS,
  },
  [`${quizPages}/actions.ts#stopWorkAction`]: {
    fields: () => ({ countyId: 'larkmoor', quizKey: 'polls-basics', kind: 'statistics' }),
    may: ['trainer', 'countyStaff', 'administrator'],
  },
  [`${quizPages}/paper/actions.ts#doubleEntryAction`]: {
    fields: () => ({ countyId: 'larkmoor', required: 'no' }),
    may: ['countyStaff', 'administrator'],
  },
  [`${quizPages}/appeals/actions.ts#rejectAppealAction`]: {
    fields: (w) => ({
      countyId: 'larkmoor',
      quizKey: 'polls-basics',
      appealId: w.appeal,
      why: 'the key is right',
    }),
    may: ['countyStaff', 'administrator'],
  },
  [`${quizPages}/appeals/actions.ts#applyRemarkAction`]: {
    fields: (w) => ({
      countyId: 'larkmoor',
      quizKey: 'polls-basics',
      questionId: w.question,
      version: '1',
      mend: 'leave-out',
      expected: 'another plan',
      reason: 'the key is wrong',
    }),
    may: ['countyStaff', 'administrator'],
  },
  [`${quizPages}/appeals/actions.ts#enterAppealForAction`]: {
    fields: (w) => ({
      countyId: 'larkmoor',
      quizKey: 'polls-basics',
      attemptId: w.marked,
      questionId: w.question,
      askedOn: civilDateAt(new Date(), 'America/Chicago'),
      text: 'two answers are right',
    }),
    may: TRAINERS,
  },
  'app/(worker)/quiz/actions.ts#enterAppealAction': {
    fields: (w) => ({ attemptId: w.marked, questionId: w.question, text: 'two answers are right' }),
    may: ['pollWorker'],
  },
  [`${quizPages}/pass-mark/actions.ts#beginPanelAction`]: {
    fields: () => ({
      countyId: 'larkmoor',
      quizKey: 'polls-basics',
      heldOn: '2026-01-15',
      roles: 'lead\ntrainer',
      forms: '1',
    }),
    may: ['trainer', 'countyStaff'],
  },
  [`${quizPages}/pass-mark/actions.ts#ratePanelAction`]: {
    fields: (w) => ({ ...panel(w), quizKey: 'polls-basics', judge: '0', round: '1' }),
    may: ['trainer', 'countyStaff'],
    refusedInside: true,
  },
  [`${quizPages}/pass-mark/actions.ts#closePanelAction`]: {
    fields: (w) => ({ ...panel(w), quizKey: 'polls-basics' }),
    may: ['trainer', 'countyStaff'],
  },
  [`${quizPages}/pass-mark/actions.ts#adoptPassMarkAction`]: {
    fields: (w) => ({ ...panel(w), which: 'mean' }),
    may: ['countyStaff', 'administrator'],
  },
  'app/(worker)/lessons/actions.ts#startLessonAction': {
    fields: () => ({ key: 'card-returned' }),
    may: ['pollWorker'],
    own: true,
  },
  'app/(worker)/certificates/record/actions.ts#askForCorrectionAction': {
    fields: () => ({ text: 'My phone is another one now.' }),
    may: ['pollWorker'],
    own: true,
  },
  'app/(worker)/path/actions.ts#setWantedPositionAction': {
    fields: () => ({ positionKey: 'check-in' }),
    may: ['pollWorker'],
    own: true,
  },
  'app/(worker)/quiz/actions.ts#startQuizAction': {
    fields: () => ({ key: 'polls-basics' }),
    may: ['pollWorker'],
    own: true,
  },
  'app/(worker)/quiz/actions.ts#saveAnswerAction': {
    fields: (w) => ({ attemptId: w.quiz, n: '1', to: 'next' }),
    may: ['pollWorker'],
  },
  'app/(worker)/quiz/actions.ts#handInAction': {
    fields: (w) => ({ attemptId: w.quiz }),
    may: ['pollWorker'],
  },
  'app/(account)/account/actions.ts#savePreferencesAction': {
    fields: () => ({ locale: 'en', theme: 'system', textSize: 'large' }),
    may: EVERYBODY,
    own: true,
  },
  'app/(account)/account/sign-ins/actions.ts#endMineAction': {
    fields: (w) => ({ signInId: w.signIn }),
    may: ['countyStaff', 'administrator'],
  },
  'app/(account)/account/sign-ins/actions.ts#endOthersAction': {
    fields: () => ({}),
    may: EVERYBODY,
    own: true,
  },
  'app/(account)/account/sign-ins/actions.ts#ownPasswordAction': {
    fields: () => ({ password: 'not the password', newPassword: 'a long new password for tests' }),
    may: EVERYBODY,
    own: true,
    refusedInside: true,
  },
  'app/(account)/account/sign-ins/actions.ts#ownAuthenticatorAction': {
    fields: () => ({}),
    may: EVERYBODY,
    own: true,
  },
  'app/(admin)/tablet/actions.ts#tabletOnAction': {
    fields: () => ({}),
    may: ['trainer', 'countyStaff', 'administrator'],
    own: true,
    endsAtSignIn: true,
  },
  'app/(admin)/tablet/actions.ts#tabletOffAction': {
    fields: () => ({}),
    // Without the tablet's own cookie there is nothing to turn off.
    may: EVERYBODY,
    own: true,
  },
  [`${election}/actions.ts#fillSeatsAction`]: {
    fields: (w) => ({ countyId: 'larkmoor', electionId: w.election }),
    may: STAFF,
  },
  [`${election}/actions.ts#stopRunAction`]: {
    fields: (w) => ({ countyId: 'larkmoor', electionId: w.election }),
    may: STAFF,
  },
  [`${election}/actions.ts#publishAction`]: {
    fields: (w) => ({ countyId: 'larkmoor', electionId: w.election, expected: w.rosterMark }),
    may: STAFF,
  },
  [`${election}/papers/actions.ts#askPapersAction`]: {
    fields: (w) => ({ countyId: 'larkmoor', electionId: w.election }),
    may: STAFF,
  },
  [`${election}/papers/actions.ts#stopPapersAction`]: {
    fields: (w) => ({ countyId: 'larkmoor', electionId: w.election }),
    may: STAFF,
    refusedInside: true,
  },
  [`${election}/actions.ts#moveAction`]: {
    fields: (w) => ({ ...seat(w), toSeatId: w.seat2, way: 'put', back: '' }),
    may: STAFF,
    refusedInside: true,
  },
  [`${election}/seats/[seat]/actions.ts#lockAction`]: {
    fields: (w) => ({ ...seat(w), locked: 'yes' }),
    may: STAFF,
  },
  [`${election}/seats/[seat]/actions.ts#emptyAction`]: { fields: seat, may: STAFF },
  [`${election}/seats/[seat]/actions.ts#seatPersonAction`]: {
    fields: (w) => ({ ...seat(w), workerId: w.worker }),
    may: STAFF,
    refusedInside: true,
  },
  [`${election}/seats/[seat]/actions.ts#swapAction`]: {
    fields: (w) => ({ ...seat(w), otherSeatId: w.seat2 }),
    may: STAFF,
  },
  [`${people}/actions.ts#keepViewAction`]: {
    fields: () => ({ countyId: 'larkmoor', name: 'A view', query: 'language=es' }),
    may: ['trainer', 'countyStaff', 'administrator'],
  },
  [`${people}/actions.ts#removeViewAction`]: {
    fields: () => ({ countyId: 'larkmoor', viewId: randomUUID() }),
    may: ['trainer', 'countyStaff', 'administrator'],
  },
  [`${people}/actions.ts#changeTogetherAction`]: {
    fields: () => ({ countyId: 'larkmoor', query: '', token: 'old', change: 'active' }),
    may: STAFF,
  },
  'app/(office)/office/[county]/people/[id]/actions.ts#changeOfferAction': {
    fields: (w) => ({
      countyId: 'larkmoor',
      workerId: w.worker,
      wantsPositionKey: 'check-in',
      offersShift: 'full',
      unavailableOn: '',
      maxTravelMiles: '',
    }),
    may: STAFF,
  },
  [`${reminders}#askForRemindersAction`]: {
    fields: (w) => ({ countyId: 'larkmoor', electionId: w.election }),
    may: ['countyStaff', 'administrator'],
  },
  [`${reminders}#markReturnedAction`]: {
    fields: (w) => ({ reminderId: w.reminder }),
    may: ['countyStaff', 'administrator'],
  },
  [`${reminders}#recordCallAction`]: {
    fields: (w) => ({ workerId: w.worker, outcome: 'no-answer', note: '' }),
    may: ['countyStaff', 'administrator'],
  },
  [`${reminders}#quietHoursAction`]: {
    fields: () => ({ countyId: 'larkmoor', from: '20:00', until: '09:00' }),
    may: ['administrator'],
  },
  'app/(admin)/admin/new-county/actions.ts#makeCountyAction': {
    fields: () => ({
      name: `Elm ${randomUUID().slice(0, 8)} County`,
      timeZone: 'America/Chicago',
      equipmentProfile: 'fern',
    }),
    may: [],
    ofState: true,
  },
  [`${people}/[id]/certificates/actions.ts#recordEarlierTrainingAction`]: {
    fields: (w) => ({
      ...who(w),
      certificateKey: 'lead',
      on: '2026-01-15',
      saidBy: 'The old list',
    }),
    may: STAFF,
  },
  [`${people}/[id]/certificates/actions.ts#revokeEarlierTrainingAction`]: {
    fields: (w) => ({ factId: w.earlier, reason: 'another person' }),
    may: STAFF,
  },
  'app/(office)/office/[county]/positions/actions.ts#adoptPositionsAction': {
    fields: () => ({
      countyId: 'larkmoor',
      'template[]': 'lead',
      effectiveFrom: '2031-01-01',
      citation: 'Invented Code 1.2',
      earlierMonths: '',
      checked: 'yes',
    }),
    may: OFFICE,
  },
  'app/(office)/office/[county]/positions/actions.ts#savePositionAction': {
    fields: () => ({
      countyId: 'larkmoor',
      key: 'lead',
      nameEn: 'Lead',
      nameEs: 'Encargado',
      rank: '1',
      certificateKey: 'lead',
    }),
    may: OFFICE,
  },
  [`${places}#setHoursAction`]: {
    fields: () => ({ countyId: 'larkmoor', opensAt: '07:00', closesAt: '20:00' }),
    may: STAFF,
  },
  'app/(office)/office/[county]/rules/actions.ts#publishRuleAction': {
    fields: () => ({
      countyId: 'larkmoor',
      certificateKey: 'lead',
      expectedVersion: '1',
      effectiveFrom: '2031-01-01',
      citation: 'Invented Code 1.2',
      checked: 'yes',
      requirement: JSON.stringify({
        kind: 'evidence',
        fact: 'quizPassed',
        topic: 'polls-basics',
        window: { kind: 'always' },
      }),
    }),
    may: ['countyStaff', 'administrator'],
  },
  [`${person}#correctPersonAction`]: {
    fields: (w) => ({
      ...who(w),
      givenName: 'New',
      familyName: 'Name',
      birthYear: '',
      phone: '',
      email: '',
      languages: 'en',
    }),
    may: OFFICE,
  },
  [`${person}#writeNoteAction`]: { fields: (w) => ({ ...who(w), text: 'A note' }), may: OFFICE },
  [`${person}#excludeAction`]: {
    fields: (w) => ({
      ...who(w),
      kind: 'candidate',
      placeCode: '',
      firstOn: '2031-11-04',
      lastOn: '2031-11-04',
      note: '',
    }),
    may: OFFICE,
  },
  [`${person}#takeBackExclusionAction`]: { fields: (w) => ({ ...who(w), id: randomUUID() }), may: OFFICE },
  // With a number that is nobody's: who may pair people is told so.
  [`${person}#pairAction`]: {
    fields: (w) => ({ ...who(w), otherRef: 'nobody', kind: 'apart', note: '' }),
    may: OFFICE,
    refusedInside: true,
  },
  [`${person}#takeBackPairAction`]: { fields: (w) => ({ ...who(w), id: randomUUID() }), may: OFFICE },
  [`${person}#answerCorrectionAction`]: {
    fields: (w) => ({ countyId: 'larkmoor', requestId: w.correction, answer: 'Corrected.' }),
    may: OFFICE,
    refusedInside: true,
  },
  // Without a rate: who may record pay is told so.
  [`${person}#recordPayAction`]: {
    fields: (w) => ({
      ...who(w),
      electionId: w.election,
      positionKey: 'lead',
      servedOn: '2026-01-15',
      hours: '14',
      note: '',
    }),
    may: OFFICE,
    refusedInside: true,
  },
  [`${person}#takeBackPayAction`]: { fields: (w) => ({ ...who(w), id: randomUUID() }), may: OFFICE },
  [`${places}#savePlaceAction`]: {
    fields: () => ({
      countyId: 'larkmoor',
      placeId: '',
      code: randomUUID(),
      name: 'Hall',
      address: '1 Road',
      lat: '41.9',
      lon: '-91.3',
      kind: 'pollingPlace',
      equipmentProfile: 'fern',
      contactName: '',
      contactPhone: '',
      keysNote: '',
      features: '',
    }),
    may: STAFF,
  },
  [`${places}#addOpeningAction`]: {
    fields: (w) => ({ ...at(w), firstOn: '2031-05-05', lastOn: '', opensAt: '07:00', closesAt: '20:00' }),
    may: STAFF,
  },
  [`${places}#removeOpeningAction`]: { fields: (w) => ({ ...at(w), openingId: randomUUID() }), may: STAFF },
  [`${places}#setEquipmentAction`]: {
    fields: (w) => ({ ...at(w), kind: 'scanner', equipmentProfile: 'fern', count: '2' }),
    may: STAFF,
  },
  // No precinct has this code: who may change places is told so.
  [`${places}#servePrecinctAction`]: {
    fields: (w) => ({ ...at(w), precinctCode: 'no such' }),
    may: STAFF,
    refusedInside: true,
  },
  [`${places}#recordSurveyAction`]: {
    fields: (w) => ({
      ...at(w),
      surveyedOn: '2026-01-15',
      note: '',
      ...Object.fromEntries(MEASURES.map((m) => [m.key, m.key === 'doorWidth' ? '33' : ''])),
    }),
    may: STAFF,
  },
  [`${places}#movePlaceAction`]: {
    fields: (w) => ({
      ...at(w),
      electionId: w.election,
      name: 'Hall',
      address: '2 Road',
      lat: '41.9',
      lon: '-91.3',
      reason: 'water',
      token: 'old',
    }),
    may: STAFF,
  },
  [`${crews}#publishCrewRulesAction`]: {
    fields: () => ({
      countyId: 'larkmoor',
      fromVersion: '99',
      citation: 'Code 1',
      sameParty: '',
      ...Object.fromEntries(
        [
          'position',
          'per',
          'count',
          'phase',
          'kind',
          'over',
          'upTo',
          'shifts',
          'legal',
          'ruleCitation',
          'rest',
        ].map((cell) => [`${cell}[]`, '']),
      ),
      turnoutPercent: '32',
      waitingPercent: '3',
      opensAtHour: '7',
      checkInMinutes: '1.5',
      votingMinutes: '6',
      hourPercents: '100',
      demandSource: 'counted',
    }),
    may: OFFICE,
  },
  [`${crews}#changeCrewAction`]: {
    fields: (w) => ({
      ...at(w),
      electionId: w.election,
      positionKey: 'scanner',
      servesOn: '2031-05-06',
      shift: 'full',
      change: '0',
      reason: '',
    }),
    may: STAFF,
  },
  [`${crews}#applyCrewsAction`]: {
    fields: (w) => ({ countyId: 'larkmoor', electionId: w.election, token: 'old' }),
    may: STAFF,
  },
  'app/(office)/office/[county]/elections/actions.ts#makeElectionAction': {
    fields: () => ({
      countyId: 'larkmoor',
      name: randomUUID(),
      kind: 'special',
      heldOn: '2031-05-06',
      fromElectionId: '',
    }),
    may: STAFF,
  },
  'app/(office)/office/[county]/service/actions.ts#serviceRulesAction': {
    fields: () => ({
      countyId: 'larkmoor',
      students: 'welcome',
      studentsFromAge: '16',
      studentsPerCrew: '2',
      nominated: 'alike',
      residents: 'anyone',
      citation: '',
    }),
    may: OFFICE,
  },
  'app/(office)/office/[county]/service/actions.ts#rosterRulesAction': {
    fields: () => ({
      countyId: 'larkmoor',
      balance: 'counted',
      firstParty: 'Democratic',
      secondParty: 'Republican',
      mostDifference: '1',
      leadAndDeputy: 'different',
      deputy: 'deputy',
      language: 'es',
      speakers: '1',
      experienced: '',
      elections: '1',
      returnMiles: '1.5',
      changeMiles: '',
      mostMiles: '',
    }),
    may: OFFICE,
  },
  'app/(office)/office/[county]/service/actions.ts#payRatesAction': {
    fields: () => ({ countyId: 'larkmoor', 'position[]': 'deputy', 'perDay[]': '100', 'perHour[]': '' }),
    may: OFFICE,
  },
  'app/(office)/office/[county]/people/[id]/card/actions.ts#printCardAction': {
    fields: (w) => ({ workerId: w.worker }),
    may: ['trainer', 'countyStaff', 'administrator'],
  },
  'app/(office)/office/[county]/people/[id]/certificates/actions.ts#revokeCertificateAction': {
    fields: (w) => ({ certificateId: w.certificate, reason: 'given to somebody else' }),
    may: STAFF,
  },
  'app/(office)/office/[county]/people/[id]/certificates/actions.ts#giveBackCertificateAction': {
    fields: (w) => ({ certificateId: w.certificate, reason: 'a mistake after all' }),
    may: STAFF,
  },
  'app/(admin)/admin/[county]/keys/actions.ts#rotateKeyAction': {
    fields: () => ({ countyId: 'larkmoor', signed: 'stays' }),
    may: ['administrator'],
  },
  'app/(admin)/admin/[county]/outbox/actions.ts#sendAgainAction': {
    fields: (w) => ({ county: 'larkmoor', messageId: w.message }),
    may: ['administrator'],
  },
  'app/(admin)/admin/[county]/keys/actions.ts#withdrawKeyAction': {
    fields: (w) => ({ countyId: 'larkmoor', keyId: w.key }),
    may: ['administrator'],
  },
  ...Object.fromEntries(
    ['recheckImportAction', 'applyImportAction', 'stopImportAction', 'dropImportAction'].map((name) => [
      `app/(office)/office/[county]/imports/actions.ts#${name}`,
      // Of a file that is no longer there: who is let in is told that.
      { fields: (w: World) => ({ countyId: 'larkmoor', importId: w.import }), may: STAFF },
    ]),
  ),
  // A record can't be merged into itself: who is let in is told that.
  [`${duplicates}#mergeAction`]: {
    fields: (w) => ({ countyId: 'larkmoor', keptId: w.worker, mergedId: w.worker }),
    may: STAFF,
    refusedInside: true,
  },
  [`${duplicates}#undoMergeAction`]: {
    fields: (w) => ({ countyId: 'larkmoor', mergeId: w.merge }),
    may: STAFF,
  },
  [`${duplicates}#notTheSameAction`]: {
    fields: (w) => ({ countyId: 'larkmoor', keptId: w.worker, mergedId: w.otherWorker }),
    may: STAFF,
  },
  [`${duplicates}#lookForPairsAction`]: { fields: () => ({ countyId: 'larkmoor' }), may: STAFF },
  [`${admin}#authenticatorRuleAction`]: {
    fields: () => ({ county: 'larkmoor', required: 'no' }),
    may: ['administrator'],
  },
  [`${admin}#createAccountAction`]: {
    fields: () => ({
      county: 'larkmoor',
      email: `${randomUUID()}@example.org`,
      name: 'New Person',
      access: 'trainer',
    }),
    may: ['administrator'],
  },
  [`${admin}#newPasswordAction`]: { fields: account, may: ['administrator'] },
  [`${admin}#disableAccountAction`]: { fields: account, may: ['administrator'] },
  [`${admin}#enableAccountAction`]: { fields: account, may: ['administrator'] },
  [`${admin}#removeAuthenticatorAction`]: { fields: account, may: ['administrator'] },
  [`${admin}#revokeCardsAction`]: { fields: account, may: ['trainer', 'countyStaff', 'administrator'] },
  [`${admin}#endAllSignInsAction`]: { fields: account, may: ['countyStaff', 'administrator'] },
  [`${admin}#endSignInAction`]: {
    fields: (w) => ({ signInId: w.signIn }),
    may: ['countyStaff', 'administrator'],
  },
  'app/(admin)/admin/[county]/lessons/actions.ts#lessonPlanAction': {
    fields: () => ({
      county: 'larkmoor',
      position: 'check-in',
      'lessons[]': 'card-returned',
      choice: 'own',
    }),
    may: ['administrator'],
  },
  'app/(admin)/admin/[county]/jobs/actions.ts#retryJobAction': {
    fields: () => ({ county: 'larkmoor', jobId: '1' }),
    may: ['administrator'],
  },
  'app/(admin)/admin/[county]/jobs/actions.ts#removeJobAction': {
    fields: () => ({ county: 'larkmoor', jobId: '1' }),
    may: ['administrator'],
  },
  [`${admin}#verifyChainAction`]: { fields: () => ({ county: 'larkmoor' }), may: ['administrator'] },
}

/** Open to everybody on purpose: signing in and out, language, the framework's own endpoints, health. */
const OPEN = new Set([
  'app/ui/actions.ts#switchLanguageAction',
  ...['cardAction', 'mailAction', 'mailCodeAction', 'passwordAction', 'authenticatorAction'].map(
    (name) => `app/(public)/sign-in/actions.ts#${name}`,
  ),
  'app/(public)/sign-out/route.ts#POST',
  'app/(public)/sign-out/route.ts#GET',
  'app/api/auth/[...nextauth]/route.ts#GET',
  'app/api/auth/[...nextauth]/route.ts#POST',
  'app/api/health/route.ts#GET',
  // The link of a letter is its own key: it opens that letter's offers alone (tests/db/offers).
  'app/(public)/offer/[token]/actions.ts#answerByLinkAction',
  'app/(public)/offer/[token]/[offer]/work.ics/route.ts#GET',
  // What a stranger needs to check a certificate.
  'app/(public)/verify/actions.ts#checkFileAction',
  'app/(public)/issuers/[county]/route.ts#GET',
  'app/(public)/issuers/[county]/keys/[key]/route.ts#GET',
  'app/(public)/issuers/[county]/status/[list]/route.ts#GET',
  'app/(public)/.well-known/certificate-keys/[county]/route.ts#GET',
])

interface RouteRow {
  params: (w: World) => Record<string, string>
  /** What follows the address, with its question mark. */
  query?: (w: World) => string
  body?: unknown
  /** A form with a file, in place of JSON; answered by another page. */
  form?: () => FormData
  may: Who[]
  /** What belongs to the signed-in person alone: no county decides. */
  own?: true
}
const ROUTES: Record<string, RouteRow> = {
  'app/(office)/office/[county]/reminders/[batch]/letters.pdf/route.ts#GET': {
    params: (w) => ({ county: 'larkmoor', batch: w.batch }),
    may: ['countyStaff', 'administrator'],
  },
  'app/(office)/office/[county]/imports/upload/route.ts#POST': {
    params: () => ({ county: 'larkmoor' }),
    form: () => {
      const form = new FormData()
      form.append('kind', 'people')
      form.append('file', new Blob(['id,name\n']), 'people.csv')
      return form
    },
    may: STAFF,
  },
  'app/(office)/office/[county]/imports/[import]/state/route.ts#GET': {
    params: (w) => ({ county: 'larkmoor', import: w.import }),
    may: STAFF,
  },
  'app/api/training/records/route.ts#POST': {
    params: () => ({}),
    body: {
      countyId: 'larkmoor',
      records: [
        {
          kind: 'signIn',
          key: '00000000-0000-4000-8000-000000000001',
          workerId: '00000000-0000-4000-8000-000000000002',
          classId: '00000000-0000-4000-8000-000000000003',
          here: true,
        },
      ],
    },
    may: TRAINERS,
  },
  'app/(worker)/classes/[class]/class.ics/route.ts#GET': {
    params: (w) => ({ class: w.class }),
    may: ['pollWorker'],
  },
  [`${people}/[id]/record.json/route.ts#GET`]: {
    params: (w) => ({ county: 'larkmoor', id: w.worker }),
    may: OFFICE,
  },
  [`${offers}/progress/route.ts#GET`]: {
    params: (w) => ({ county: 'larkmoor', id: w.election }),
    may: ['countyStaff', 'administrator'],
  },
  [`${offers}/letters/progress/route.ts#GET`]: {
    params: (w) => ({ county: 'larkmoor', id: w.election }),
    query: (w) => `?sending=${w.sending}`,
    may: ['countyStaff', 'administrator'],
  },
  [`${offers}/letters/[order]/[number]/route.ts#GET`]: {
    params: (w) => ({ county: 'larkmoor', id: w.election, order: w.letters, number: '1' }),
    may: STAFF,
  },
  [`${offers}/letters.pdf/route.ts#GET`]: {
    params: (w) => ({ county: 'larkmoor', id: w.election }),
    query: (w) => `?offer=${w.offer}`,
    may: STAFF,
  },
  'app/(worker)/offers/[offer]/work.ics/route.ts#GET': {
    params: (w) => ({ offer: w.offer }),
    may: ['pollWorker'],
  },
  [`${election}/roster.csv/route.ts#GET`]: {
    params: (w) => ({ county: 'larkmoor', id: w.election }),
    may: ['countyStaff', 'administrator'],
  },
  'app/(office)/office/[county]/people/people.csv/route.ts#GET': {
    params: () => ({ county: 'larkmoor' }),
    may: ['trainer', 'countyStaff', 'administrator'],
  },
  'app/(office)/office/[county]/places/places.csv/route.ts#GET': {
    params: () => ({ county: 'larkmoor' }),
    may: OFFICE,
  },
  'app/(office)/office/[county]/lapses/lapses.csv/route.ts#GET': {
    params: () => ({ county: 'larkmoor' }),
    may: OFFICE,
  },
  [`${offers}/offers.csv/route.ts#GET`]: {
    params: (w) => ({ county: 'larkmoor', id: w.election }),
    may: OFFICE,
  },
  'app/(training)/training/[county]/check-offs.csv/route.ts#GET': {
    params: () => ({ county: 'larkmoor' }),
    may: TRAINERS,
  },
  'app/(training)/training/[county]/classes/classes.csv/route.ts#GET': {
    params: () => ({ county: 'larkmoor' }),
    may: TRAINERS,
  },
  'app/(training)/training/[county]/classes/[class]/sheet.csv/route.ts#GET': {
    params: (w) => ({ county: 'larkmoor', class: w.class }),
    may: TRAINERS,
  },
  [`${election}/training.csv/route.ts#GET`]: {
    params: (w) => ({ county: 'larkmoor', id: w.election }),
    may: ['countyStaff', 'administrator'],
  },
  [`${election}/changes/route.ts#GET`]: {
    params: (w) => ({ county: 'larkmoor', id: w.election }),
    may: ['countyStaff', 'administrator'],
  },
  [`${election}/compare.csv/route.ts#GET`]: {
    params: (w) => ({ county: 'larkmoor', id: w.election }),
    may: ['countyStaff', 'administrator'],
  },
  [`${quizPages}/progress/[kind]/route.ts#GET`]: {
    params: () => ({ county: 'larkmoor', quiz: 'polls-basics', kind: 'remark' }),
    may: ['trainer', 'countyStaff', 'administrator'],
  },
  [`${election}/papers/progress/route.ts#GET`]: {
    params: (w) => ({ county: 'larkmoor', id: w.election }),
    may: ['countyStaff', 'administrator'],
  },
  [`${election}/papers/places/[place]/[paper]/route.ts#GET`]: {
    params: (w) => ({ county: 'larkmoor', id: w.election, place: w.place, paper: 'sign-in.pdf' }),
    may: ['countyStaff', 'administrator'],
  },
  [`${election}/papers/files/[order]/[number]/route.ts#GET`]: {
    params: (w) => ({ county: 'larkmoor', id: w.election, order: w.order, number: '1' }),
    may: ['countyStaff', 'administrator'],
  },
  [`${election}/run/route.ts#GET`]: {
    params: (w) => ({ county: 'larkmoor', id: w.election }),
    may: ['countyStaff', 'administrator'],
  },
  'app/api/attempts/[id]/story/[n]/route.ts#POST': {
    params: (w) => ({ id: w.quiz, n: String(w.story) }),
    body: { from: 0, event: { type: 'ask-help' }, locale: 'en' },
    may: ['pollWorker'],
  },
  'app/api/me/record/route.ts#GET': { params: () => ({}), may: ['pollWorker'], own: true },
  'app/api/certificates/[issue]/certificate.pdf/route.ts#GET': {
    params: (w) => ({ issue: w.issue }),
    may: EVERYBODY,
  },
  'app/api/certificates/[issue]/credential.jwt/route.ts#GET': {
    params: (w) => ({ issue: w.issue }),
    may: EVERYBODY,
  },
  'app/api/attempts/[id]/events/route.ts#GET': { params: (w) => ({ id: w.attempt }), may: ['pollWorker'] },
  'app/api/attempts/[id]/events/route.ts#POST': {
    params: (w) => ({ id: w.attempt }),
    body: { from: 0, events: [] },
    may: ['pollWorker'],
  },
}

function* filesBelow(folder: string): Generator<string> {
  for (const entry of readdirSync(folder, { withFileTypes: true })) {
    const full = `${folder}/${entry.name}`
    if (entry.isDirectory()) yield* filesBelow(full)
    else yield full
  }
}

/** Every server action and route handler of the product, found in the sources. */
function everyDoor(): string[] {
  const doors: string[] = []
  for (const file of filesBelow('app')) {
    if (!/\.tsx?$/.test(file)) continue
    const source = readFileSync(file, 'utf8')
    const isActions = /^['"]use server['"]/m.test(source)
    if (!isActions && !/\/route\.ts$/.test(file)) continue
    for (const match of source.matchAll(/export (?:const|async function|function) (\w+)/g))
      if (isActions || /^(GET|POST|PUT|PATCH|DELETE|HEAD|OPTIONS)$/.test(match[1]!))
        doors.push(`${file}#${match[1]}`)
    for (const match of source.matchAll(/export \{([^}]+)\}/g))
      for (const part of match[1]!.split(',')) {
        const name = part.trim().split(' as ').at(-1)!.trim()
        if (name && name !== 'default') doors.push(`${file}#${name}`)
      }
  }
  return doors.sort()
}

const actorWith = (access: Access, countyId: string | null): Actor => ({
  accountId: accountOf[`${access} ${countyId}`] ?? randomUUID(),
  signInId: randomUUID(),
  name: 'Somebody',
  locale: 'en',
  sharedTablet: false,
  pollWorkerId: access === 'pollWorker' ? workerOf[countyId ?? 'larkmoor']! : null,
  grants: [{ access, countyId }],
})

/** 'in': got past authorisation; otherwise the code of the refusal. */
async function tryAction(door: string, actor: Actor | null, fields: Record<string, string>): Promise<string> {
  const [file, name] = door.split('#') as [string, string]
  const module = (await import(pathToFileURL(path.resolve(file)).href)) as Record<
    string,
    (before: Outcome, form: FormData) => Promise<Outcome>
  >
  const form = new FormData()
  for (const [key, value] of Object.entries(fields)) form.append(key, value)
  asked.actor = actor
  try {
    const outcome = await module[name]!({ status: 'idle' }, form)
    if (outcome.status === 'failed') throw new Error(`${door} failed: ${outcome.message}`)
    return outcome.status === 'refused' ? outcome.code : 'in'
  } catch (error) {
    const digest = (error as { digest?: string }).digest
    if (digest?.startsWith('NEXT_REDIRECT')) return digest.includes('/sign-in') ? 'SIGN_IN_NEEDED' : 'in'
    throw error
  }
}

async function tryRoute(door: string, actor: Actor | null, row: RouteRow): Promise<number> {
  const [file, name] = door.split('#') as [string, string]
  const module = (await import(pathToFileURL(path.resolve(file)).href)) as Record<
    string,
    (request: Request, context: unknown) => Promise<Response>
  >
  asked.actor = actor
  const request = new Request(`http://localhost/${row.query?.(world) ?? ''}`, {
    method: name,
    ...(row.form ? { body: row.form() } : {}),
    ...(row.body ? { body: JSON.stringify(row.body), headers: { 'content-type': 'application/json' } } : {}),
  })
  return (await module[name]!(request, { params: Promise.resolve(row.params(world)) })).status
}

const CLOSED = ['FORBIDDEN', 'NOT_FOUND', 'SIGN_IN_NEEDED']

beforeAll(async () => {
  await seedIfEmpty({ today: civilDate('2026-06-01') })
  const first = async (countyId: string) =>
    (
      await db().pollWorker.findFirstOrThrow({
        where: { countyId, account: { isNot: null } },
        orderBy: { countyRef: 'asc' },
      })
    ).id
  workerOf = { larkmoor: await first('larkmoor'), fennick: await first('fennick') }
  accountOf = {}
  for (const countyId of ['larkmoor', 'fennick'])
    for (const access of Object.values(Access)) {
      const found = await db().account.findFirst({
        where: { grants: { some: { countyId, access } } },
        orderBy: { id: 'desc' },
      })
      if (found) accountOf[`${access} ${countyId}`] = found.id
    }
  const people = await db().pollWorker.findMany({
    where: { countyId: 'larkmoor' },
    orderBy: { countyRef: 'desc' },
    take: 2,
  })
  const next = await db().election.findFirstOrThrow({
    where: { countyId: 'larkmoor' },
    orderBy: { heldOn: 'desc' },
  })
  const seats = await db().seat.findMany({ where: { electionId: next.id }, orderBy: { id: 'asc' }, take: 2 })
  const order = await db().paperOrder.create({
    data: {
      countyId: 'larkmoor',
      electionId: next.id,
      status: 'done',
      requestedBy: randomUUID(),
      files: {
        create: { number: 1, name: 'a.pdf', title: 'A', pages: 1, bytes: 1, content: new Uint8Array([1]) },
      },
    },
  })
  const sending = await db().offerSending.create({
    data: {
      countyId: 'larkmoor',
      electionId: next.id,
      rosterId: randomUUID(),
      answerBy: '2026-10-20',
      requestedBy: randomUUID(),
      createdAt: new Date(),
      heartbeatAt: new Date(),
      finishedAt: new Date(),
      people: 1,
      letters: {
        create: {
          countyId: 'larkmoor',
          electionId: next.id,
          status: 'done',
          requestedBy: randomUUID(),
          files: {
            create: {
              number: 1,
              name: 'a.pdf',
              title: 'A',
              pages: 1,
              bytes: 1,
              content: new Uint8Array([1]),
            },
          },
        },
      },
    },
    include: { letters: true },
  })
  // Nobody of the table: what is done to this account is done by somebody else.
  const staff = await db().account.create({
    data: {
      name: 'Third Person',
      email: 'third@larkmoor.example',
      grants: { create: { access: 'trainer', countyId: 'larkmoor' } },
    },
  })
  const signIn = await db().signIn.create({
    data: {
      accountId: staff.id,
      method: 'password',
      device: 'test',
      expiresAt: new Date(Date.now() + 3_600_000),
    },
  })
  const fact = await db().fact.findFirstOrThrow({
    where: { countyId: 'larkmoor', kind: 'checkOff' },
    orderBy: { id: 'asc' },
  })
  const oath = await db().fact.findFirstOrThrow({
    where: { countyId: 'larkmoor', kind: 'oathSworn' },
    orderBy: { id: 'asc' },
  })
  const earlier = await db().fact.create({
    data: {
      countyId: 'larkmoor',
      pollWorkerId: people[0]!.id,
      kind: 'earlierTraining',
      topic: 'lead',
      happenedOn: '2026-01-10',
      witnessedBy: 'The old list',
    },
  })
  const held = {
    countyId: 'larkmoor',
    topic: 'lead-class',
    placeName: 'H',
    placeAddress: 'R',
    trainerName: 'T',
  }
  const oneClass = (startsAt: string, more: object = {}) =>
    db().trainingClass.create({
      data: {
        ...held,
        seats: 400,
        startsAt: new Date(startsAt),
        endsAt: new Date(Date.parse(startsAt) + 3_600_000),
        ...more,
      },
    })
  const future = await oneClass('2031-05-05T18:00:00Z')
  // Signing in asks for somebody on the list.
  await db().classBooking.create({
    data: { countyId: 'larkmoor', classId: future.id, pollWorkerId: people[0]!.id, bookedAt: new Date() },
  })
  const past = await oneClass('2026-01-05T18:00:00Z', { closedAt: new Date('2026-01-05T20:00:00Z') })
  const batch = await db().reminderBatch.create({
    data: {
      countyId: 'larkmoor',
      electionId: next.id,
      requestedBy: staff.id,
      finishedAt: new Date(),
      reminders: {
        create: { countyId: 'larkmoor', pollWorkerId: people[0]!.id, channel: 'letter', locale: 'en' },
      },
    },
    include: { reminders: true },
  })
  const me = actorWith('pollWorker', 'larkmoor')
  const { startLesson } = await import('@/lib/scenarios/commands')
  const { startQuiz } = await import('@/lib/assessment/commands')
  const { handInQuiz } = await import('@/lib/assessment/commands')
  const marked = (await startQuiz(me, 'polls-basics', 'en')).attemptId
  await handInQuiz(me, marked)
  const { form } = await db().attempt.findUniqueOrThrow({ where: { id: marked } })
  const { loadBank } = await import('@/lib/assessment/content')
  const question = (form as { questionIds: string[] }).questionIds.find(
    (id) => loadBank().get(id)?.version === 1,
  )!
  const others = await db().attempt.findFirstOrThrow({
    where: {
      countyId: 'larkmoor',
      kind: 'quiz',
      key: 'polls-basics',
      finishedAt: { not: null },
      id: { not: marked },
    },
  })
  const { drawPaperForm } = await import('@/lib/assessment/commands-paper')
  const { beginPanel } = await import('@/lib/assessment/commands-panels')
  const attempt = (await startLesson(me, 'card-returned', 'en')).attemptId
  const quiz = (await startQuiz(me, 'polls-basics', 'en')).attemptId
  const key = await db().issuerKey.create({
    data: { countyId: 'larkmoor', kid: 'test', publicKey: {}, createdAt: new Date(), retiredAt: new Date() },
  })
  const message = await db().outboxMessage.create({
    data: {
      countyId: 'larkmoor',
      kind: 'card-printed',
      toAddress: 'a@example.org',
      locale: 'en',
      subject: '',
      body: '',
    },
  })
  // One to revoke, one to hand out.
  const [toRevoke, toShow] = await Promise.all(
    ['TEST-TEST-TEST', 'TEST-TEST-SH0W'].map((serial, i) =>
      db().certificate.create({
        data: {
          countyId: 'larkmoor',
          pollWorkerId: workerOf.larkmoor!,
          certificateKey: 'check-in',
          number: 98 + i,
          serial,
          createdAt: new Date(),
          issues: {
            create: {
              countyId: 'larkmoor',
              validFrom: '2026-01-01',
              // Over: what no fact backs would be withdrawn.
              validUntil: '2026-02-01',
              holderName: 'A B',
              issuedAt: new Date(),
            },
          },
        },
        include: { issues: true },
      }),
    ),
  )
  const dropped = await db().import.create({
    data: { countyId: 'larkmoor', kind: 'people', fileName: 'f', status: 'dropped', requestedBy: staff.id },
  })
  const undone = await db().peopleMerge.create({
    data: {
      countyId: 'larkmoor',
      keptId: people[0]!.id,
      mergedId: people[1]!.id,
      before: {},
      moved: {},
      mergedBy: staff.id,
      mergedAt: new Date(),
      undoneAt: new Date(),
    },
  })
  const [offered, offered2] = await Promise.all(
    seats.map(({ id }) =>
      db().offer.create({
        data: {
          countyId: 'larkmoor',
          electionId: next.id,
          seatId: id,
          pollWorkerId: workerOf.larkmoor!,
          events: {
            create: {
              sequence: 0,
              countyId: 'larkmoor',
              kind: 'offered',
              at: new Date(),
              via: 'letter',
              answerBy: '2026-10-01',
            },
          },
        },
      }),
    ),
  )
  world = {
    import: dropped.id,
    merge: undone.id,
    certificate: toRevoke!.id,
    issue: toShow!.issues[0]!.id,
    key: key.id,
    message: message.id,
    worker: people[0]!.id,
    otherWorker: people[1]!.id,
    election: next.id,
    place: seats[0]!.pollingPlaceId,
    seat: seats[0]!.id,
    seat2: seats[1]!.id,
    order: order.id,
    sending: sending.id,
    letters: sending.letters[0]!.id,
    staffAccount: staff.id,
    signIn: signIn.id,
    fact: fact.id,
    oath: oath.id,
    earlier: earlier.id,
    batch: batch.id,
    reminder: batch.reminders[0]!.id,
    class: future.id,
    pastClass: past.id,
    workerRef: people[0]!.countyRef,
    attempt,
    quiz,
    marked,
    question,
    appeal: (
      await db().appeal.create({
        data: {
          countyId: 'larkmoor',
          attemptId: others.id,
          questionId: (others.form as { questionIds: string[] }).questionIds[0]!,
          text: 'wrong',
          enteredBy: randomUUID(),
        },
      })
    ).id,
    countyRef: people[1]!.countyRef,
    paper: (
      await drawPaperForm(actorWith('trainer', 'larkmoor'), {
        countyId: 'larkmoor',
        quizKey: 'polls-basics',
        countyRef: people[0]!.countyRef,
        locale: 'en',
      })
    ).attemptId,
    panel: (
      await beginPanel(actorWith('trainer', 'larkmoor'), {
        countyId: 'larkmoor',
        quizKey: 'polls-basics',
        heldOn: civilDate('2026-01-15'),
        roles: 'lead\ntrainer',
        forms: 1,
      })
    ).panelId,
    rosterMark: 'none:0',
    offer: offered!.id,
    offer2: offered2!.id,
    correction: (
      await db().correctionRequest.create({
        data: { countyId: 'larkmoor', pollWorkerId: people[0]!.id, text: 'My phone', askedAt: new Date() },
      })
    ).id,
    story: 9,
  }
})

describe('who may do what', () => {
  it('has a row for every server action and route handler, and no row without one', () => {
    const listed = [...Object.keys(ACTIONS), ...Object.keys(ROUTES), ...OPEN].sort()
    expect(everyDoor()).toEqual(listed)
  })

  for (const [door, row] of Object.entries(ACTIONS)) {
    it(`${door.replace(/^app\//, '')} lets in ${row.may.join(', ')} of its own county alone`, async () => {
      // An input that the schema refuses would prove nothing: only rows that say so may be refused inside.
      const shut = ['FORBIDDEN', 'NOT_FOUND']
      if (!row.refusedInside) shut.push('INVALID_INPUT')
      if (!row.endsAtSignIn) shut.push('SIGN_IN_NEEDED')
      expect(await tryAction(door, null, row.fields(world))).toBe('SIGN_IN_NEEDED')
      for (const access of Object.values(Access)) {
        const own = await tryAction(door, actorWith(access, 'larkmoor'), row.fields(world))
        if (row.may.includes(access)) expect.soft(shut, `${access} in Larkmoor: ${own}`).not.toContain(own)
        else expect.soft(CLOSED, `${access} in Larkmoor: ${own}`).toContain(own)
        if (row.own) continue
        if (row.ofState) {
          const state = await tryAction(door, actorWith(access, null), row.fields(world))
          if (access === 'administrator') expect.soft(shut, `state office: ${state}`).not.toContain(state)
          else expect.soft(CLOSED, `${access} of the state: ${state}`).toContain(state)
          continue
        }
        const other = await tryAction(door, actorWith(access, 'fennick'), row.fields(world))
        expect.soft(other, `${access} in Fennick`).toBe('NOT_FOUND')
      }
    })
  }

  for (const [door, row] of Object.entries(ROUTES)) {
    it(`${door.replace(/^app\//, '')} answers ${row.may.join(', ')} of its own county alone`, async () => {
      expect(await tryRoute(door, null, row)).toBe(401)
      for (const access of Object.values(Access)) {
        const own = await tryRoute(door, actorWith(access, 'larkmoor'), row)
        if (row.may.includes(access))
          expect.soft([200, 303, 409], `${access} in Larkmoor: ${own}`).toContain(own)
        else expect.soft([403, 404], `${access} in Larkmoor: ${own}`).toContain(own)
        if (row.own) continue
        expect.soft(await tryRoute(door, actorWith(access, 'fennick'), row), `${access} in Fennick`).toBe(404)
      }
    })
  }
})
