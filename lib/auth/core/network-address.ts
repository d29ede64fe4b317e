/** What counts as one sender: an IPv4 address, or the /64 of an IPv6 address, since one household or one attacker
 *  has all of that. Text that is no address is taken as it is. */
export function senderOf(address: string): string {
  const mapped = /^::ffff:(\d+\.\d+\.\d+\.\d+)$/i.exec(address)
  if (mapped) return mapped[1]!
  const plain = address.split('%')[0]!
  if (!plain.includes(':')) return plain
  const [head = '', tail] = plain.toLowerCase().split('::')
  const left = head.split(':').filter(Boolean)
  const right = (tail ?? '').split(':').filter(Boolean)
  const zeros = tail === undefined ? 0 : Math.max(0, 8 - left.length - right.length)
  const groups = [...left, ...Array<string>(zeros).fill('0'), ...right]
  return `${groups
    .slice(0, 4)
    .map((group) => group.replace(/^0+(?=.)/, ''))
    .join(':')}::/64`
}

/** The sender's address from X-Forwarded-For. The last entry is the one that our own server, or the one proxy before
 *  it, wrote; the entries before it are what the sender claims. */
export const lastForwarded = (header: string | null): string => header?.split(',').at(-1)?.trim() || 'unknown'
