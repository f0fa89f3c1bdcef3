// The floors of the house, lowest first. A floor imports only from floors below it (and from itself).
const floors = [
  'src/signal',
  'src/audio',
  'src/measure',
  'src/hearing',
  'src/places',
  'src/compare',
  'src/shootout',
  'src/finish',
  'src/survive',
  'src/judge',
  'src/deliver',
  'src/bench',
  'src/catalogue',
  'src/server',
  'src/cli',
];

const upward = floors.slice(0, -1).map((floor, i) => ({
  name: `floor-${floor.slice(4)}`,
  severity: 'error',
  comment: `${floor} imports only from the floors below it`,
  from: { path: `^${floor}/`, pathNot: '\\.test\\.ts$' },
  to: { path: `^(${floors.slice(i + 1).join('|')}|demo|web|test|bench)/` },
}));

module.exports = {
  forbidden: [
    ...upward,
    {
      name: 'no-circles',
      severity: 'error',
      comment: 'a circle has no floor',
      from: {},
      to: { circular: true },
    },
    {
      name: 'cli-and-server-apart',
      severity: 'error',
      comment: 'the command line stands beside the server on the bench; it may start it, not reach into it',
      from: { path: '^src/cli/' },
      to: { path: '^src/server/', pathNot: '^src/server/(start|api|shootout-api)\\.ts$' },
    },
    {
      name: 'page-is-a-client',
      severity: 'error',
      comment: 'the page takes types, kernels and the words of the judge from the house, no server code',
      from: { path: '^web/', pathNot: '\\.test\\.tsx?$' },
      to: {
        path: '^src/(bench|catalogue|server|cli|deliver|judge|survive)/',
        // Text and data without any judging: figures and sources read the same on the page as elsewhere.
        pathNot:
          '^src/judge/(sources|listening-sources|wording|amounts|part-words|chain-story|profiles|profile-figures|figures/[a-z-]+)\\.ts$',
        dependencyTypesNot: ['type-only'],
      },
    },
    {
      name: 'engine-has-no-files',
      severity: 'error',
      comment: 'engine floors are pure: the file system is reached only from src/audio/files',
      from: {
        path: '^src/(signal|audio|measure|hearing|places|compare|shootout|finish|survive|judge|deliver)/',
        pathNot: '(^src/audio/files/|\\.test\\.ts$)',
      },
      to: {
        dependencyTypes: ['core'],
        path: '^(node:)?(fs|fs/promises|child_process|worker_threads|http|https|net|os)$',
      },
    },
    {
      name: 'tests-are-leaves',
      severity: 'error',
      comment: 'nothing in the house imports a test',
      from: { path: '^(src|web|demo)/', pathNot: '\\.test\\.tsx?$' },
      to: { path: '(\\.test\\.tsx?$|^test/)' },
    },
    {
      name: 'no-orphans',
      severity: 'error',
      comment: 'code that nobody imports is dead',
      from: {
        orphan: true,
        pathNot: [
          '\\.test\\.tsx?$',
          '\\.d\\.ts$',
          '^src/cli/main\\.ts$',
          '-worker\\.ts$',
          '^web/main\\.tsx$',
          '^web/public/',
          '\\.config\\.ts$',
          '^test/',
          '^bench/',
        ],
      },
      to: {},
    },
    {
      name: 'resolvable',
      severity: 'error',
      comment: 'every import must be found',
      from: {},
      to: { couldNotResolve: true },
    },
  ],
  options: {
    doNotFollow: { path: 'node_modules' },
    tsConfig: { fileName: 'tsconfig.json' },
    tsPreCompilationDeps: true,
    enhancedResolveOptions: {
      exportsFields: ['exports'],
      extensions: ['.ts', '.tsx', '.js', '.mjs', '.cjs'],
      conditionNames: ['import', 'node', 'default', 'types'],
    },
  },
};
