import type { MissedWish } from './facts-wishes'

const LANGUAGES = new Intl.DisplayNames('en', { type: 'language' })

const persons = (n: number) => (n === 1 ? '1 person' : `${n} people`)

/** What a crew misses of a wish. */
export function wishWords(wish: MissedWish): string {
  switch (wish.kind) {
    case 'balance':
      return `${persons(wish.people)} too many of one party${wish.required ? ', though your county requires the balance' : ''}`
    case 'lead-and-deputy':
      return 'lead and deputy are of one party'
    case 'speakers':
      return `${wish.people} ${LANGUAGES.of(wish.language) ?? wish.language} speaker${wish.people === 1 ? '' : 's'} missing`
    case 'experienced':
      return `${persons(wish.people)} with experience missing`
  }
}
