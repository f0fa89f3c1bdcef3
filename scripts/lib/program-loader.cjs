// Loads the scripts of dist/program, of which it is part, with the byte code that scripts/lib/code-cache.mjs kept beside
// them: parsing and compiling a megabyte of JavaScript in each of three threads takes longer than measuring a minute of
// music. V8 refuses byte code of another version of itself, of other flags or of another length; then it compiles, and all
// is as without.
const { readFileSync } = require('node:fs');
const { createRequire } = require('node:module');
const { join } = require('node:path');
const { Script, constants } = require('node:vm');

/** By file name: what was loaded. */
const loaded = new Map();

/** What a script of this folder exports; as `require`. */
function load(name) {
  const before = loaded.get(name);
  if (before) return before.module.exports;
  const filename = join(__dirname, name);
  const source = readFileSync(filename, 'utf8');
  const script = new Script(`(function (exports, require, module, __filename, __dirname) {${source}\n})`, {
    filename,
    cachedData: byteCode(`${filename}.cache`),
    importModuleDynamically: constants.USE_MAIN_CONTEXT_DEFAULT_LOADER,
  });
  const module = { exports: {} };
  loaded.set(name, { module, script });
  const elsewhere = createRequire(filename);
  const require = (id) => (id.startsWith('./') ? load(id.slice(2)) : elsewhere(id));
  require.resolve = elsewhere.resolve;
  script.runInThisContext().call(module.exports, module.exports, require, module, filename, __dirname);
  return module.exports;
}

function byteCode(path) {
  try {
    return readFileSync(path);
  } catch {
    // Not made yet: it is being made.
    return undefined;
  }
}

/** Byte code of everything that ran so far, by file name. */
function byteCodes() {
  return new Map([...loaded].map(([name, { script }]) => [name, script.createCachedData()]));
}

module.exports = { load, byteCodes };
