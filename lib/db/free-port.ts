import net from 'node:net'

const tryPort = (port: number, host: string): Promise<number | null> =>
  new Promise((resolve, reject) => {
    const probe = net.createServer()
    probe.once('error', (error: NodeJS.ErrnoException) => {
      if (error.code === 'EADDRINUSE' || error.code === 'EACCES') resolve(null)
      else reject(error)
    })
    probe.listen(port, host, () => {
      const { port: got } = probe.address() as net.AddressInfo
      probe.close(() => resolve(got))
    })
  })

/** The wanted port if it is free, else one of the next twenty, else any. */
export async function freePort(wanted: number, host = '127.0.0.1'): Promise<number> {
  if (wanted !== 0)
    for (let port = wanted; port < Math.min(wanted + 20, 65_536); port++) {
      const got = await tryPort(port, host)
      if (got !== null) return got
    }
  const any = await tryPort(0, host)
  if (any === null) throw new Error('No free port was found.')
  return any
}
