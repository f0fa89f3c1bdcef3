// Builds what changed: kernels (AssemblyScript) -> engine (TypeScript) -> program (the command line in few files) -> pages
// (Vite). `node scripts/build.mjs [kernels|engine|program|page|voter|notebook ...]` builds only those; without names, all.
import { existsSync, mkdirSync, readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { pathToFileURL } from 'node:url';
import { bundleProgram } from './lib/bundle.mjs';
import { root } from './lib/root.mjs';
import { filesBelow, hashFiles, isFresh, stamp, unstamp } from './lib/stamp.mjs';
import { run, say, step } from './lib/step.mjs';

const notTest = (path) => !/\.test\.tsx?$/.test(path);
const tool = (path) => join(root, 'node_modules', path);

const parts = {
  kernels: {
    title: 'building the kernels',
    inputs: () => filesBelow(['kernels', 'package-lock.json', 'scripts/build.mjs']),
    output: 'src/signal/generated/kernels.ts',
    async build() {
      const wasm = join(root, 'dist/kernels/everyroom.wasm');
      mkdirSync(join(root, 'dist/kernels'), { recursive: true });
      await run(process.execPath, [
        tool('assemblyscript/bin/asc.js'),
        'kernels/index.ts',
        '--outFile',
        'dist/kernels/everyroom.wasm',
        '-O3',
        '--converge',
        '--noAssert',
        '--enable',
        'simd',
        '--runtime',
        'stub',
        '--use',
        'abort=',
      ]);
      // The module travels as text inside the code: the same bytes in Node, in a worker and in an AudioWorklet,
      // with no file to look for at run time.
      mkdirSync(join(root, 'src/signal/generated'), { recursive: true });
      const base64 = readFileSync(wasm).toString('base64');
      writeFileSync(
        join(root, 'src/signal/generated/kernels.ts'),
        `// Made by scripts/build.mjs from kernels/. Not committed.\nexport const kernelsBase64 =\n  '${base64}';\n`,
      );
    },
  },
  engine: {
    title: 'building the engine',
    inputs: () =>
      filesBelow(['src', 'demo', 'tsconfig.json', 'tsconfig.build.json', 'package-lock.json'], notTest),
    output: 'dist/src',
    build: () => run(process.execPath, [tool('typescript/bin/tsc'), '-p', 'tsconfig.build.json']),
  },
  program: {
    title: 'building the program',
    inputs: () =>
      filesBelow(
        [
          'src',
          'tsconfig.json',
          'package.json',
          'package-lock.json',
          'scripts/lib/bundle.mjs',
          'scripts/lib/code-cache.mjs',
          'scripts/lib/program-loader.cjs',
        ],
        notTest,
      ),
    output: 'dist/program',
    build: bundleProgram,
  },
  page: {
    title: 'building the page',
    inputs: () =>
      filesBelow(
        ['web', 'src', 'package-lock.json'],
        (path) => notTest(path) && !path.startsWith('web/dist'),
      ),
    output: 'dist/page',
    build: () => run(process.execPath, [tool('vite/bin/vite.js'), 'build', 'web', '--logLevel', 'warn']),
  },
  voter: {
    title: 'building the page for voters',
    inputs: () =>
      filesBelow(
        ['web/voter', 'web/sound', 'web/style/paper.css', 'src/shootout', 'package-lock.json'],
        notTest,
      ),
    output: 'dist/voter',
    build: () =>
      run(process.execPath, [tool('vite/bin/vite.js'), 'build', 'web/voter', '--logLevel', 'warn']),
  },
  notebook: {
    title: 'building the notebook of walks',
    inputs: () =>
      filesBelow(
        ['web/notebook', 'web/voter', 'web/sound', 'web/style/paper.css', 'src/places', 'package-lock.json'],
        notTest,
      ),
    output: 'dist/notebook',
    build: () =>
      run(process.execPath, [tool('vite/bin/vite.js'), 'build', 'web/notebook', '--logLevel', 'warn']),
  },
};

/** Builds the named parts (all by default) where their inputs changed. Throws StepError when one fails. */
export async function build(names = Object.keys(parts)) {
  for (const name of names) {
    const part = parts[name];
    const hash = hashFiles(part.inputs());
    if (isFresh(name, hash) && existsSync(join(root, part.output))) continue;
    unstamp(name);
    await step(part.title, () => part.build());
    stamp(name, hash);
  }
}

if (import.meta.url === pathToFileURL(process.argv[1]).href) {
  try {
    await build(process.argv.length > 2 ? process.argv.slice(2) : undefined);
  } catch (error) {
    say(`${error.message}\n${error.output ?? ''}`);
    process.exitCode = 1;
  }
}
