import { getTranslations } from 'next-intl/server'
import { ActionForm } from '@/app/ui/action-form'
import { enterAppealAction } from '../../actions'

/** Closed until somebody wants it: says that a question is wrong. */
export async function AppealForm({ attemptId, questionId }: { attemptId: string; questionId: string }) {
  const t = await getTranslations('quiz')
  const id = `appeal-${questionId}`
  return (
    <details>
      <summary>{t('appeal.title')}</summary>
      <ActionForm action={enterAppealAction}>
        <input type="hidden" name="attemptId" value={attemptId} />
        <input type="hidden" name="questionId" value={questionId} />
        <div className="field">
          <label htmlFor={id}>{t('appeal.label')}</label>
          <textarea id={id} name="text" rows={3} maxLength={1000} required />
        </div>
        <button type="submit">{t('appeal.send')}</button>
      </ActionForm>
    </details>
  )
}
