// The command line and its worker as few files: Node takes longer to find and compile three hundred modules than to
// measure a minute of music.
import { copyFileSync, readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { root } from './root.mjs';
import { run } from './step.mjs';

/** What stays in node_modules: native code, and libraries that look for files of their own beside them. */
const external = ['libsql', 'piscina'];

/** Bundles src/cli/main.ts and src/bench/task-worker.ts with the libraries they use into dist/program. */
export async function bundleProgram() {
  const { build } = await import('vite');
  await build({
    configFile: false,
    root,
    logLevel: 'warn',
    ssr: { noExternal: true, external },
    // The server runs from dist/src: it starts once and stays.
    plugins: [
      {
        name: 'server-apart',
        enforce: 'pre',
        resolveId: (id) => (id === './serve.ts' ? { id: '../src/cli/serve.js', external: true } : null),
      },
    ],
    build: {
      ssr: true,
      target: 'node20',
      minify: false,
      outDir: 'dist/program',
      emptyOutDir: true,
      rollupOptions: {
        input: {
          main: join(root, 'src/cli/main.ts'),
          'task-worker': join(root, 'src/bench/task-worker.ts'),
        },
        // Side by side: the pool looks for the worker beside itself.
        output: {
          format: 'cjs',
          exports: 'named',
          entryFileNames: '[name].body.js',
          chunkFileNames: '[name]-[hash].js',
        },
      },
    },
  });
  const program = join(root, 'dist/program');
  const { version } = JSON.parse(readFileSync(join(root, 'package.json'), 'utf8'));
  writeFileSync(join(program, 'package.json'), JSON.stringify({ type: 'commonjs', version }));
  copyFileSync(join(root, 'scripts/lib/program-loader.cjs'), join(program, 'loader.cjs'));
  for (const name of ['main', 'task-worker'])
    writeFileSync(
      join(program, `${name}.js`),
      `module.exports = require('./loader.cjs').load('${name}.body.js');\n`,
    );
  await run(process.execPath, [join(root, 'scripts/lib/code-cache.mjs')]);
}
