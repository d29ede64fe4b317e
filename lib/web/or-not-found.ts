import { notFound } from 'next/navigation'
import { AppError } from '@/lib/kernel/errors'

/** For pages: what is out of scope, or not held, is simply not there. */
export async function orNotFound<T>(read: Promise<T>): Promise<T> {
  try {
    return await read
  } catch (error) {
    if (error instanceof AppError && (error.code === 'NOT_FOUND' || error.code === 'FORBIDDEN')) notFound()
    throw error
  }
}
