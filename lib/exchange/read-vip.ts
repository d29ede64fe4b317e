import { SaxesParser } from 'saxes'
import { LIMITS, UnreadableFile } from './table'
import { bomOf } from './text'
import { OTHER_OBJECTS, type Part, type Shape, VALUE_RULES, VIP_OBJECTS } from './vip-types'

/** Voting Information Project feeds, version 5.2 (CC BY 4.0), read as a stream: what is kept is the objects that name
 *  places, never the street segments. */

export type VipValue = string | VipNode
export interface VipNode {
  [part: string]: VipValue[]
}
export interface VipObject {
  type: string
  id: string
  line: number
  node: VipNode
}
export interface VipProblem {
  line: number
  /** Object and part, for example `Precinct/Name`. */
  path: string
  /** The object's id, or the value that is wrong. */
  value: string
  message: string
}
export interface VipFile {
  version: '5.1' | '5.2'
  objects: VipObject[]
  /** Objects of every type in the file. */
  counts: Record<string, number>
  problems: VipProblem[]
  /** Problems beyond those listed. */
  more: number
}

const MOST_PROBLEMS = 1000
const MOST_DEPTH = 40
/** Longest stretch without a tag, and longest id. */
const LONGEST_TEXT = 1024 * 1024
const ENCODINGS: Record<string, string> = {
  'utf-8': 'utf-8',
  utf8: 'utf-8',
  'us-ascii': 'utf-8',
  'iso-8859-1': 'windows-1252',
  'windows-1252': 'windows-1252',
}

/** The decoder that the first bytes ask for. @throws UnreadableFile */
function decoderFor(first: Uint8Array): { decoder: TextDecoder; skip: number } {
  const bom = bomOf(first)
  if (bom) return { decoder: new TextDecoder(bom.encoding, { fatal: true }), skip: bom.length }
  const head = new TextDecoder('windows-1252').decode(first.subarray(0, 200))
  const named = /^\s*<\?xml[^>]*encoding\s*=\s*["']([^"']+)["']/.exec(head)?.[1]?.toLowerCase() ?? 'utf-8'
  const known = ENCODINGS[named]
  if (!known)
    throw new UnreadableFile(
      `The file says that its characters are “${named.slice(0, 40)}”; UTF-8 is expected. Ask for the feed in UTF-8.`,
    )
  return { decoder: new TextDecoder(known, { fatal: true }), skip: 0 }
}

/** A copy. A piece cut from the parser's text would keep the whole text in memory. */
const ownText = (text: string): string => Buffer.from(text, 'utf8').toString('utf8')

interface Frame {
  name: string
  shape: Shape | Part['of']
  node: VipNode
  /** How often each part has come, and the place in the sequence so far. */
  seen: Map<string, number>
  at: number
}

class VipReader {
  readonly file: VipFile = { version: '5.2', objects: [], counts: {}, problems: [], more: 0 }
  private readonly parser = new SaxesParser({ position: true })
  private readonly ids = new Set<string>()
  private readonly refs = new Map<string, { line: number; path: string }>()
  private readonly stack: Frame[] = []
  private object: VipObject | null = null
  private depth = 0
  private text = ''
  private lastTag = 0
  private rootSeen = false

  constructor() {
    const { parser } = this
    parser.on('error', (error) => {
      throw new UnreadableFile(
        `This is no well-formed XML: ${error.message.replace(/^\d+:\d+:\s*/, `line ${parser.line}: `)} The file may have been cut off; download it again.`,
      )
    })
    parser.on('doctype', () => {
      throw new UnreadableFile(
        `Line ${parser.line}: the file declares a document type (DOCTYPE). Feeds have none, and entities are not read, because they can hide other files. Ask for the feed without it.`,
      )
    })
    parser.on('opentag', (tag) => {
      this.lastTag = parser.position
      this.open(tag.name, tag.attributes as Record<string, string>)
    })
    parser.on('closetag', () => {
      this.lastTag = parser.position
      this.close()
    })
    const add = (text: string) => {
      this.lastTag = parser.position
      if (this.stack.length > 0) this.text += text
    }
    parser.on('text', add)
    parser.on('cdata', add)
    parser.on('comment', () => {
      this.lastTag = parser.position
    })
  }

  write(text: string): void {
    this.parser.write(text)
    if (this.parser.position - this.lastTag > LONGEST_TEXT)
      throw new UnreadableFile(
        `Line ${this.parser.line}: a single text is longer than ${LONGEST_TEXT / 1024 / 1024} MB. This is no VIP feed.`,
      )
  }

  end(): VipFile {
    this.parser.close()
    if (!this.rootSeen) throw new UnreadableFile('The file holds no XML element.')
    for (const [id, { line, path }] of this.refs)
      if (!this.ids.has(id))
        this.problem(
          line,
          path,
          id,
          `No object of the file has the id “${id}”. Correct the reference, or add the object.`,
        )
    for (const one of ['Source', 'Election']) {
      const count = this.file.counts[one] ?? 0
      if (count !== 1)
        this.problem(1, one, String(count), `A feed has exactly one ${one}; this file has ${count}.`)
    }
    return this.file
  }

  private problem(line: number, path: string, value: string, message: string): void {
    if (this.file.problems.length < MOST_PROBLEMS)
      this.file.problems.push({ line, path, value: value.slice(0, 200), message })
    else this.file.more++
  }

  private open(name: string, attributes: Record<string, string>): void {
    this.text = ''
    this.depth++
    if (this.depth > MOST_DEPTH)
      throw new UnreadableFile(
        `Line ${this.parser.line}: elements are nested deeper than ${MOST_DEPTH}. This is no VIP feed.`,
      )
    if (this.depth === 1) this.root(name, attributes)
    else if (this.depth === 2) this.begin(name, attributes.id)
    else this.openPart(name)
  }

  private openPart(name: string): void {
    const frame = this.stack.at(-1)
    if (!frame) return
    const shape = frame.shape
    const node: VipNode = {}
    if (typeof shape === 'string') {
      this.problem(
        this.parser.line,
        this.path(name),
        this.object?.id ?? '',
        `${frame.name} holds text, not elements.`,
      )
      this.stack.push({ name, shape: { kind: 'open' }, node, seen: new Map(), at: 0 })
    } else if (shape.kind === 'open') this.stack.push({ name, shape, node, seen: new Map(), at: 0 })
    else this.stack.push({ name, shape: this.place(frame, shape, name), node, seen: new Map(), at: 0 })
  }

  private root(name: string, attributes: Record<string, string>): void {
    this.rootSeen = true
    if (name !== 'VipObject')
      throw new UnreadableFile(
        `The file’s outer element is “${name.slice(0, 40)}”; a VIP feed begins with VipObject. Bring in a VIP 5.2 feed, a CSV or an Excel file.`,
      )
    const version = attributes.schemaVersion?.trim()
    if (version !== '5.2' && version !== '5.1')
      throw new UnreadableFile(
        `The feed says ${version ? `schemaVersion “${version.slice(0, 20)}”` : 'no schemaVersion'}; versions 5.1 and 5.2 are read. Ask for the feed in version 5.2.`,
      )
    this.file.version = version
  }

  private begin(type: string, id: string | undefined): void {
    const { line } = this.parser
    this.file.counts[type] = (this.file.counts[type] ?? 0) + 1
    const shape = VIP_OBJECTS[type]
    if (!shape && !OTHER_OBJECTS.has(type))
      this.problem(
        line,
        type,
        id ?? '',
        `VIP ${this.file.version} has no object “${type}”. Remove it, or check its spelling.`,
      )
    if (!id) this.problem(line, type, '', `This ${type} has no id. Every object needs one.`)
    else if (id.length > 1000 || !VALUE_RULES.idref.pattern.test(id))
      this.problem(
        line,
        type,
        id,
        'An id begins with a letter and has letters, digits, “.”, “-” and “_” only.',
      )
    else if (this.ids.has(id))
      this.problem(
        line,
        type,
        id,
        `Another object has the id “${id}”, too. Give one of them an id of its own.`,
      )
    else this.ids.add(ownText(id))
    if (!shape) return
    this.object = { type, id: ownText(id ?? ''), line, node: {} }
    this.stack.push({ name: type, shape, node: this.object.node, seen: new Map(), at: 0 })
  }

  /** Checks that a part may stand here, and tells what it holds. */
  private place(frame: Frame, shape: Exclude<Shape, { kind: 'open' }>, name: string): Part['of'] {
    const index = shape.parts.findIndex((part) => part.name === name)
    const part = shape.parts[index]
    const { line } = this.parser
    if (!part) {
      this.problem(
        line,
        this.path(name),
        this.object!.id,
        `${frame.name} has no part “${name.slice(0, 40)}” in VIP 5.2.`,
      )
      return { kind: 'open' }
    }
    const count = (frame.seen.get(name) ?? 0) + 1
    frame.seen.set(name, count)
    if (count > part.max)
      this.problem(line, this.path(name), this.object!.id, `${frame.name} may have only one ${name}.`)
    if (shape.kind === 'sequence') {
      if (index < frame.at)
        this.problem(
          line,
          this.path(name),
          this.object!.id,
          `${name} must stand before ${shape.parts[frame.at]!.name} in ${frame.name}.`,
        )
      else frame.at = index
    }
    return part.of
  }

  private path = (name?: string): string =>
    [...this.stack.map((frame) => frame.name), ...(name ? [name] : [])].join('/')

  private close(): void {
    this.depth--
    const frame = this.stack.at(-1)
    if (!frame) return
    const { line } = this.parser
    const path = this.path()
    const value: VipValue = typeof frame.shape === 'string' ? ownText(this.text.trim()) : frame.node
    if (typeof frame.shape === 'string') this.checkValue(frame.shape, value as string, path, line)
    else if (frame.shape.kind !== 'open') this.checkComplete(frame, frame.shape, path, line)
    this.stack.pop()
    this.text = ''
    const outer = this.stack.at(-1)
    if (outer) {
      if (typeof outer.shape !== 'string' && outer.shape.kind !== 'open') {
        const list = outer.node[frame.name]
        if (list) list.push(value)
        else outer.node[frame.name] = [value]
      }
    } else if (this.object) {
      this.file.objects.push(this.object)
      this.object = null
    }
  }

  private checkValue(type: keyof typeof VALUE_RULES, value: string, path: string, line: number): void {
    const rule = VALUE_RULES[type]
    if (!rule.pattern.test(value)) this.problem(line, path, value, `This should be ${rule.like}.`)
    else if (type === 'idref' || type === 'idrefs')
      for (const id of value.split(/\s+/)) if (!this.refs.has(id)) this.refs.set(id, { line, path })
  }

  private checkComplete(
    frame: Frame,
    shape: Exclude<Shape, { kind: 'open' }>,
    path: string,
    line: number,
  ): void {
    for (const part of shape.parts)
      if (part.min === 1 && !frame.seen.has(part.name))
        this.problem(
          line,
          `${path}/${part.name}`,
          this.object!.id,
          `${frame.name} needs a ${part.name}. Add it.`,
        )
    const choice = shape.parts.filter((part) => part.choice)
    const chosen = choice.filter((part) => frame.seen.has(part.name)).length
    if (choice.length > 0 && chosen !== 1)
      this.problem(
        line,
        path,
        this.object!.id,
        `${frame.name} needs ${choice[0]!.choice}${chosen > 1 ? ', not both' : ''}.`,
      )
  }
}

/** Reads a feed piece by piece. Memory holds the ids and the objects of VIP_OBJECTS, not the file. Pieces of rules that
 *  are broken are listed; a file that is no XML, no feed, of another version or with a document type is refused.
 *  `onBytes` is called with the bytes so far. @throws UnreadableFile */
export async function readVip(
  pieces: AsyncIterable<Uint8Array> | Iterable<Uint8Array>,
  onBytes: (bytes: number) => void = () => undefined,
): Promise<VipFile> {
  const reader = new VipReader()
  let decoder: TextDecoder | null = null
  let bytes = 0
  try {
    for await (const piece of pieces) {
      let rest = piece
      if (!decoder) {
        const found = decoderFor(piece)
        decoder = found.decoder
        rest = piece.subarray(found.skip)
      }
      bytes += piece.length
      if (bytes > LIMITS.xmlBytes)
        throw new UnreadableFile(
          `The feed is larger than ${LIMITS.xmlBytes / 1024 / 1024} MB. Ask for the feed of your county alone.`,
        )
      // Small pieces: the guard against endless texts looks after each.
      for (let i = 0; i < rest.length; i += LONGEST_TEXT)
        reader.write(decoder.decode(rest.subarray(i, i + LONGEST_TEXT), { stream: true }))
      onBytes(bytes)
    }
    if (decoder) reader.write(decoder.decode())
    return reader.end()
  } catch (error) {
    if (error instanceof TypeError && /encoded data/.test(error.message))
      throw new UnreadableFile(
        'The feed has characters that don’t belong to its character set. Ask for the feed in UTF-8.',
      )
    throw error
  }
}
