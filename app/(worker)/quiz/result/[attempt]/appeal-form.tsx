import { getTranslations } from 'next-intl/server'
import { ActionForm, LongField } from '@/app/ui/action-form'
import { enterAppealAction } from '../../actions'

/** Closed until somebody wants it: says that a question is wrong. */
export async function AppealForm({ attemptId, questionId }: { attemptId: string; questionId: string }) {
  const t = await getTranslations('quiz')
  const id = `appeal-${questionId}`
  return (
    <details>
      <summary>{t('appeal.title')}</summary>
      <ActionForm action={enterAppealAction} id={id}>
        <input type="hidden" name="attemptId" value={attemptId} />
        <input type="hidden" name="questionId" value={questionId} />
        <LongField name="text" label={t('appeal.label')} rows={3} maxLength={1000} required />
        <button type="submit">{t('appeal.send')}</button>
      </ActionForm>
    </details>
  )
}
