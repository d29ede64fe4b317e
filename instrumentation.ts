/** Next calls this once before the first request: wrong settings stop the process, and the clock is set. */
export async function register(): Promise<void> {
  if (process.env.NEXT_RUNTIME !== 'nodejs') return
  const { env } = await import('@/lib/env')
  env()
}
