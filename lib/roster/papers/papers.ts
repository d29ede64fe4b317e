import type { Content } from 'pdfmake/interfaces'
import { footOf, onNewPage } from '@/lib/papers/kit'
import type { Paper } from '@/lib/papers/pdf'
import { badgePages } from './badges'
import { countySheets, everybodyByPlace, rosterText } from './county'
import type { PacketGround, PacketPlace } from './ground'
import { jobAidSheet, languagesOf, placeSheet, reconciliationForm, signInSheets } from './sheets'

/** The papers that can be asked for, by the name of their file. */
export const PAPERS = {
  'place-sheet': 'Place sheet',
  'sign-in': 'Sign-in sheet',
  badges: 'Name badges',
  packet: 'Packet: all sheets of the place',
} as const
export type PaperKey = keyof typeof PAPERS

/** One paper for some places, each place on pages of its own. */
export const placePaper = (key: PaperKey, ground: PacketGround, places: readonly PacketPlace[]): Paper =>
  paperOf(ground, PAPERS[key], contentOf(key, ground, places))

/** The county's own part of its packet, with everybody at some of the places. */
export const countyPaper = (ground: PacketGround, crewsOf: readonly PacketPlace[]): Paper =>
  paperOf(ground, 'County packet', countySheets(ground, crewsOf))

/** Everybody at some of the places, for counties where all of them are too many for one file. */
export const everybodyPaper = (ground: PacketGround, places: readonly PacketPlace[]): Paper =>
  paperOf(ground, 'Everybody by place', everybodyByPlace(places))

function contentOf(key: PaperKey, ground: PacketGround, places: readonly PacketPlace[]): Paper['content'] {
  if (key === 'badges') return badgePages(ground, places)
  return places.flatMap((place, i) => {
    const parts =
      key === 'sign-in'
        ? [signInSheets(place)]
        : [placeSheet(ground, place), ...(key === 'packet' ? [signInSheets(place)] : [])]
    return [
      ...parts
        .filter((part) => part.length > 0)
        .map((part, n): Content => (i === 0 && n === 0 ? { stack: part } : onNewPage(part))),
      ...(key === 'packet'
        ? [
            reconciliationForm(ground, place),
            ...languagesOf(place).flatMap((locale) => jobAidSheet(place, locale)),
          ]
        : []),
    ]
  })
}

const paperOf = (ground: PacketGround, name: string, content: Paper['content']): Paper => ({
  title: `${name}: ${ground.countyName}, ${ground.electionName}`,
  subject: `Roster ${rosterText(ground)}`,
  language: 'en',
  madeAt: new Date(ground.madeAt),
  pageMargins: [48, 44, 48, 48],
  content,
  footer: footOf(`${ground.countyName} · ${ground.electionName} · roster ${rosterText(ground)}`),
})
