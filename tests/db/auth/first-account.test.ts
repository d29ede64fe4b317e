/** The first account of an installation without the demo. */
import { expect, it } from 'vitest'
import { createAccount, FirstAccountInput, foundStateOffice } from '@/lib/auth/accounts'
import { isPassword } from '@/lib/auth/passwords'
import { db } from '@/lib/db/client'
import { useDatabase } from '@/tests/support/database'
import { actorWith, auditEvents } from '../roster/support'

useDatabase()

it('founds the state office once; its administrator may make accounts and signs in with the printed password', async () => {
  const input = FirstAccountInput.parse({
    state: 'State of Arden',
    abbreviation: 'AD',
    timeZone: 'America/Chicago',
    name: 'Ingrid Thornhurst',
    email: 'Ingrid@State.example',
  })
  const { accountId, firstPassword } = await foundStateOffice(input)
  const account = await db().account.findUniqueOrThrow({
    where: { id: accountId },
    include: { grants: true },
  })
  expect(account).toMatchObject({
    email: 'ingrid@state.example',
    grants: [{ access: 'administrator', countyId: null }],
  })
  expect(await isPassword(account.passwordHash!, firstPassword)).toBe(true)
  await createAccount(
    { ...actorWith('administrator', null), accountId },
    { name: 'Second', email: 'second@state.example', access: 'administrator', countyId: null },
  )
  await expect(foundStateOffice({ ...input, email: 'other@state.example' })).rejects.toMatchObject({
    code: 'CONFLICT',
  })
  expect(await auditEvents('state')).toEqual(['account.created', 'account.created'])
})
