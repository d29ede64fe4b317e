// Checks who imports whom, by the rules in doors.cjs. Prints each import that goes through a wall, with the reason.
// Plain JavaScript: the checker's own modules break when they are loaded through tsx.
import { createRequire } from 'node:module'
import { cruise } from 'dependency-cruiser'

const require = createRequire(import.meta.url)

// The checker's swc parser reads every file as plain TypeScript; pages are TypeScript with markup.
const swc = require('@swc/core')
const parse = swc.parseFileSync.bind(swc)
swc.parseFileSync = (file, options) => parse(file, { ...options, tsx: file.endsWith('.tsx') })

const { forbidden, options } = require('./doors.cjs')
const { output, exitCode } = await cruise(
  ['app', 'lib', 'prisma/seed'],
  { ...options, ruleSet: { forbidden }, validate: true, outputType: 'err-long' },
  { extensions: ['.ts', '.tsx', '.mjs', '.cjs', '.js'], alias: { '@': process.cwd() } },
)
console.log(output)
process.exitCode = exitCode
