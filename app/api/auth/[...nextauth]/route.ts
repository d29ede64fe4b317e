import type { NextRequest } from 'next/server'
import NextAuth from 'next-auth'
import { nextAuthOptions } from '@/lib/auth/next-auth'

/** The options are made for each request: the build has no secret. */
const handler = (request: NextRequest, context: { params: Promise<{ nextauth: string[] }> }) =>
  NextAuth(request, context as never, nextAuthOptions())

export { handler as GET, handler as POST }
