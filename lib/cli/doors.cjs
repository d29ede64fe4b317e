/** Who may import whom. Each rule says why. Checked by `npm run check`. */
const rooms =
  '(people|places|scenarios|assessment|certification|classes|crews|roster|offers|elections|service|counties|reminders)'
module.exports = {
  forbidden: [
    {
      name: 'no-cycles',
      comment: 'A cycle means that two parts are really one, or that one of them knows too much.',
      severity: 'error',
      from: {},
      // Types alone vanish when the program runs.
      to: { circular: true, viaOnly: { pathNot: 'prisma/client', dependencyTypesNot: ['type-only'] } },
    },
    {
      name: 'cores-are-pure',
      comment:
        'A core computes: it can be tested, replayed and run in a browser or a thread because it touches nothing.',
      severity: 'error',
      from: { path: '^lib/[^/]+/core/' },
      to: {
        path: '^(app|prisma)/|^lib/(db|audit|queue|notices|auth|web|papers|jobs|cli|env)|^lib/[^/]+/(queries|commands|content)|node_modules/(next|react|@prisma|pg)/|^(fs|child_process|net|http)$',
      },
    },
    {
      name: 'kernel-stands-alone',
      comment: 'The kernel is below everything.',
      severity: 'error',
      from: { path: '^lib/kernel/' },
      to: { path: '^(app|prisma)/|^lib/(?!kernel/)' },
    },
    {
      name: 'only-writers-and-readers-touch-the-database',
      comment:
        'Authorisation and audit live in queries and commands; a page that reads by itself would go round them.',
      severity: 'error',
      from: {
        path: '^(app|lib)/',
        pathNot: '^lib/(db|audit|auth|queue|notices|jobs|cli|web/health)|^lib/[^/]+/(queries|commands|facts)',
      },
      to: { path: '^lib/db/|^prisma/client/(client|internal)' },
    },
    {
      name: 'low-rooms-know-no-domain',
      comment: 'Audit, queue, notices, papers and the database serve every room alike.',
      severity: 'error',
      from: { path: '^lib/(db|audit|queue|papers|notices|kernel)/' },
      to: { path: `^lib/${rooms}/` },
    },
    {
      name: 'auth-knows-no-domain',
      comment: 'Who somebody is does not depend on lessons or rosters.',
      severity: 'error',
      from: { path: '^lib/auth/' },
      to: { path: `^lib/${rooms}/` },
    },
    {
      name: 'certification-takes-facts',
      comment: 'Certification works on what happened and when, not on how it was tested.',
      severity: 'error',
      from: { path: '^lib/certification/' },
      to: { path: '^lib/(assessment|scenarios|classes|crews|roster|elections)/' },
    },
    {
      name: 'learning-is-below-rosters',
      comment: 'Lessons and quizzes do not know what they are counted for.',
      severity: 'error',
      from: { path: '^lib/(scenarios|assessment|people|places)/' },
      to: { path: '^lib/(roster|crews|elections|service|classes)/' },
    },
    {
      name: 'crews-are-below-rosters',
      comment: 'How many seats a place needs is asked before who sits in them.',
      severity: 'error',
      from: { path: '^lib/crews/' },
      to: { path: '^lib/roster/' },
    },
    {
      name: 'rosters-are-below-offers',
      comment: 'Who sits where is decided before anybody is asked. (What an answer means is read from rows.)',
      severity: 'error',
      from: { path: '^lib/(roster|crews|classes|certification|people|places|scenarios|assessment)/' },
      to: { path: '^lib/offers/' },
    },
    {
      name: 'rooms-do-not-know-pages',
      comment: 'Pages show; the rooms of lib are used by jobs and commands too.',
      severity: 'error',
      from: { path: '^lib/' },
      to: { path: '^app/' },
    },
    {
      name: 'one-reader-of-settings',
      comment: "Settings are parsed once, in lib/env.ts. (Node's process object itself is free.)",
      severity: 'error',
      from: { path: '^(app|lib)/', pathNot: '^lib/(env|cli|web/messages)' },
      to: { path: 'node_modules/dotenv' },
    },
  ],
  options: {
    doNotFollow: { path: 'node_modules' },
    exclude: { path: '\\.next|prisma/client/(internal|models)' },
    tsPreCompilationDeps: false,
    parser: 'swc',
    enhancedResolveOptions: {
      exportsFields: ['exports'],
      conditionNames: ['import', 'require', 'node', 'default'],
    },
  },
}
