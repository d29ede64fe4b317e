/** Invented people and places. Family names are put together from syllables, so that a full name belongs to nobody. */
import type { Random } from '@/lib/kernel/random'

/** Ordinary given names of people born before 1965, and since. */
const GIVEN_OLDER = [
  'Margaret Dorothy Helen Ruth Frances Alice Jean Shirley Barbara Patricia Carol Nancy Linda Sharon Judith Joyce',
  'Marilyn Gloria Janet Elaine Kathleen Diane Beverly Arlene Lois Marjorie Irene Eunice Constance Rosemary',
  'Harold Walter Raymond Eugene Kenneth Donald Ronald Gerald Roger Leonard Stanley Norman Russell Vernon Clifford',
  'Lawrence Dennis Douglas Wayne Glenn Roy Earl Ralph Howard Marvin Alvin Duane Lyle Merle Gordon',
]
  .join(' ')
  .split(' ')
const GIVEN_YOUNGER = [
  'Jennifer Amy Heather Melissa Stephanie Nicole Erin Megan Lauren Hannah Abigail Grace Olivia Paige Claire',
  'Natalie Brooke Jenna Holly Tessa Maya Nora Ivy Leah Joanna Priya Amina Mai Keisha Simone',
  'Jason Brian Kevin Eric Ryan Aaron Adam Kyle Nathan Ethan Caleb Owen Lucas Isaac Noah Trevor Dylan Marcus',
  'Andre Malik Tariq Samir Minh Hao Devon Elliot Jonah Felix Simon Colin Grant',
]
  .join(' ')
  .split(' ')
const GIVEN_SPANISH = [
  'Rosa Elena Lucía Carmen Teresa Pilar Marisol Graciela Beatriz Yolanda Silvia Daniela Camila Alma Inés Leticia',
  'Rafael Ernesto Hugo Arturo Ramón Julio Óscar Manuel Esteban Tomás Joaquín Mateo Andrés Gilberto Rubén Saúl',
]
  .join(' ')
  .split(' ')

const FAMILY_STARTS = [
  'Ash Bram Cald Dun El Farn Gars Hather Ings Kes Lang Marn Nor Oake Pen Quar Redd Sel Thorn Ul Wether Yar',
  'Brind Cress Hollo Fen Stav Tarr Wick Winn',
]
  .join(' ')
  .split(' ')
const FAMILY_ENDS =
  'combe worthy ley sby ford wick stead more thwaite ridge low mere hurst bank dale sett gill holt'.split(' ')
const SPANISH_STARTS = 'Valde Monte Ricar Caste Almen Corri Solva Zamba Peral Luza Bara Terra'.split(' ')
const SPANISH_ENDS = 'mora vera nal dera rosa lindo queda riega jano vaca'.split(' ')

export interface PersonName {
  given: string
  family: string
}

export function inventName(random: Random, birthYear: number, spanishSpeaker: boolean): PersonName {
  if (spanishSpeaker && random.next() < 0.85)
    return {
      given: random.pick(GIVEN_SPANISH),
      family: random.pick(SPANISH_STARTS) + random.pick(SPANISH_ENDS),
    }
  return {
    given: random.pick(birthYear < 1965 ? GIVEN_OLDER : GIVEN_YOUNGER),
    family: random.pick(FAMILY_STARTS) + random.pick(FAMILY_ENDS),
  }
}

/** Letters a–z of a name, for an e-mail address. */
export const plainLetters = (name: string): string =>
  name
    .normalize('NFD')
    .toLowerCase()
    .replace(/[^a-z]/g, '')

const TOWN_STARTS =
  'Quill Tansy Wren Sedge Thistle Loam Bracken Heron Plover Kettle Dapple Vetch Sorrel Cobble Finch Burdock'.split(
    ' ',
  )
const TOWN_ENDS = 'brook field grove haven mere ville bend crossing'.split(' ')

/** Different town names, as many as asked for; after 128 they get a number. */
export function inventTowns(random: Random, count: number): string[] {
  const all = TOWN_STARTS.flatMap((start) =>
    TOWN_ENDS.map((end) => (end === 'crossing' || end === 'bend' ? `${start} ${end}` : start + end)),
  ).map((name) => name.replace(/ \w/, (letter) => letter.toUpperCase()))
  const shuffled = random.shuffle(all)
  return Array.from({ length: count }, (_, i) => {
    const round = Math.floor(i / shuffled.length)
    return shuffled[i % shuffled.length]! + (round === 0 ? '' : ` ${round + 1}`)
  })
}

export const BUILDINGS = [
  'Elementary School',
  'Fire Station',
  'Public Library',
  'Township Hall',
  'Community Center',
  'Middle School',
  'Grange Hall',
  'Recreation Center',
  'Senior Center',
  'High School',
  'Veterans Hall',
  'Fellowship Hall',
  'Courthouse Annex',
  'Fairgrounds Pavilion',
  'Armory',
  'Parks Office',
  'Art Center',
  'Bus Depot',
  'North Elementary School',
  'South Elementary School',
  'Vocational School',
  'Water Works',
] as const

export const STREETS = [
  'Mill Road',
  'Orchard Street',
  'Second Street',
  'Prairie Avenue',
  'Depot Street',
  'Meadow Lane',
  'County Road 9',
  'Creek Road',
  'School Street',
  'Quarry Road',
  'Maple Street',
  'Ridge Road',
] as const
