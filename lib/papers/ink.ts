/** Ink of all papers: dark enough to stay apart when printed in grey. */
export const PAPER_INK = {
  text: '#1b2430',
  soft: '#48545f',
  accent: '#17556b',
  line: '#8a8778',
  shade: '#efece3',
}
