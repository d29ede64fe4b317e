import type { CivilDate } from '@/lib/kernel/dates'
import type { DemoCard, StaffSignIn } from './demo'
import type { IdKind } from './ids'
import type { AccountRow, CardRow, GrantRow, PollWorkerRow } from './rows'

export interface AccountsWanted {
  countyId: string | null
  pollWorkers: readonly PollWorkerRow[]
  staff: readonly StaffSignIn[]
  /** In the order of the first poll workers. */
  cards: readonly DemoCard[]
  cardsExpireOn: CivilDate
}

/** An account and one grant for each member of staff and each poll worker; the printed cards of the first of them.
 *  `recorderId`: whoever enters check-offs here. */
export function makeAccounts(
  nextId: (kind: IdKind) => string,
  wanted: AccountsWanted,
): { accounts: AccountRow[]; grants: GrantRow[]; cardRows: CardRow[]; recorderId: string | null } {
  const accounts: AccountRow[] = []
  const grants: GrantRow[] = []
  const open = (account: Omit<AccountRow, 'id'>, access: GrantRow['access'], countyId: string | null) => {
    const id = nextId('account')
    accounts.push({ id, ...account })
    grants.push({ id: nextId('grant'), accountId: id, access, countyId })
    return id
  }
  const recorders = new Map<string, string>()
  for (const { email, name, access, countyId } of wanted.staff)
    recorders.set(access, open({ email, name, locale: 'en', pollWorkerId: null }, access, countyId))
  const own = wanted.pollWorkers.map((person) =>
    open(
      {
        email: person.email,
        name: `${person.givenName} ${person.familyName}`,
        locale: person.languages[0] === 'es' ? 'es' : 'en',
        pollWorkerId: person.id,
      },
      'pollWorker',
      wanted.countyId,
    ),
  )
  return {
    accounts,
    grants,
    cardRows: wanted.cards.slice(0, own.length).map(({ code }, i) => ({
      id: nextId('card'),
      accountId: own[i]!,
      code,
      expiresAt: new Date(`${wanted.cardsExpireOn}T12:00:00Z`),
    })),
    recorderId: recorders.get('trainer') ?? recorders.get('countyStaff') ?? null,
  }
}
