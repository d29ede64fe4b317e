import { listQuizDesigns } from '@/lib/assessment/content'
import type { Actor } from '@/lib/auth/actor'
import { assertCan } from '@/lib/auth/permissions'
import { loadPolicyTemplates } from '@/lib/certification/content'
import { choiceKey, type EvidenceChoice, earlierTrainingLabel } from '@/lib/certification/core/rule-form'
import { listPolicies } from '@/lib/certification/queries'
import { leavesOf } from '@/lib/classes/core/topics'
import { db } from '@/lib/db/client'
import { listScenarios } from '@/lib/scenarios/content'

/** Everything that a rule of a county can ask for, with the words that a poll worker reads: first as the county's own
 *  rules say it, then as the templates do, then every lesson, quiz and position. @throws AppError NOT_FOUND, FORBIDDEN */
export async function listEvidenceChoices(actor: Actor, countyId: string): Promise<EvidenceChoice[]> {
  assertCan(actor, 'publishRules', countyId)
  const [policies, positions] = await Promise.all([
    listPolicies(db(), countyId),
    db().position.findMany({ where: { countyId }, orderBy: { rank: 'asc' } }),
  ])
  const templates = [...loadPolicyTemplates().values()].map((template) => template.policy)
  const found = new Map<string, EvidenceChoice>()
  const add = (choice: EvidenceChoice) => {
    if (!found.has(choiceKey(choice))) found.set(choiceKey(choice), choice)
  }
  // Newest wording first.
  for (const policy of [...policies.values(), ...templates])
    for (const ruleSet of [...policy.ruleSets].reverse())
      for (const { fact, topic, label } of leavesOf(ruleSet.requirement))
        if (label) add({ fact, topic, label })
  for (const { id, texts } of listScenarios())
    add({
      fact: 'lessonFinished',
      topic: id,
      label: {
        en: `Finish the lesson “${texts.en?.title ?? id}”`,
        es: `Termine la lección «${texts.es?.title ?? id}»`,
      },
    })
  for (const { id, names } of listQuizDesigns())
    add({
      fact: 'quizPassed',
      topic: id,
      label: { en: `Pass the quiz “${names.en}”`, es: `Apruebe el examen «${names.es}»` },
    })
  for (const { key, nameEn, nameEs, certificateKey } of positions) {
    add({
      fact: 'served',
      topic: key,
      label: { en: `Have served as: ${nameEn}`, es: `Haber servido como: ${nameEs}` },
    })
    add({ fact: 'earlierTraining', topic: certificateKey, label: earlierTrainingLabel({ nameEn, nameEs }) })
  }
  add({
    fact: 'oathSworn',
    topic: 'oath',
    label: { en: 'Swear the oath of office', es: 'Preste el juramento del cargo' },
  })
  return [...found.values()]
}

/** Certificates whose newest rule lets training done elsewhere count. @throws AppError NOT_FOUND, FORBIDDEN */
export async function listWhereEarlierCounts(actor: Actor, countyId: string): Promise<string[]> {
  assertCan(actor, 'readPeople', countyId)
  const policies = await listPolicies(db(), countyId)
  return [...policies].flatMap(([certificateKey, policy]) => {
    const newest = policy.ruleSets.at(-1)
    const counts =
      newest &&
      [...leavesOf(newest.requirement)].some(
        (leaf) => leaf.fact === 'earlierTraining' && leaf.topic === certificateKey,
      )
    return counts ? [certificateKey] : []
  })
}

/** What a history is about, in English: `fact topic` → its name. @throws AppError NOT_FOUND, FORBIDDEN */
export async function listTopicNames(actor: Actor, countyId: string): Promise<Map<string, string>> {
  assertCan(actor, 'readPeople', countyId)
  const [policies, positions] = await Promise.all([
    listPolicies(db(), countyId),
    db().position.findMany({ where: { countyId } }),
  ])
  const leaves = [...policies.values()].flatMap((policy) =>
    policy.ruleSets.flatMap((ruleSet) => [...leavesOf(ruleSet.requirement)]),
  )
  return new Map([
    ...leaves.flatMap(({ fact, topic, label }) => (label ? [[`${fact} ${topic}`, label.en] as const] : [])),
    ...listScenarios().map(({ id, texts }) => [`lessonFinished ${id}`, texts.en?.title ?? id] as const),
    ...listQuizDesigns().map(({ id, names }) => [`quizPassed ${id}`, names.en] as const),
    ...positions.flatMap(({ key, certificateKey, nameEn }) => [
      [`served ${key}`, nameEn] as const,
      [`earlierTraining ${certificateKey}`, nameEn] as const,
      [`certificateRevoked ${certificateKey}`, nameEn] as const,
    ]),
  ])
}
