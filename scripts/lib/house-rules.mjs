// Rules of the house that no linter knows: no registry hosts, no paths of one machine, no tests left out,
// no file that grew into two.
import { readdirSync, readFileSync, statSync } from 'node:fs';
import { join, relative } from 'node:path';
import { root } from './root.mjs';
import { filesBelow } from './stamp.mjs';

const text = /\.(ts|tsx|mjs|cjs|js|json|md|css|html|c|yml|yaml)$|^(bin|\.ci)\//;
const forbidden = [
  {
    what: 'names a registry host',
    pattern: /"resolved": *"https?:|https?:\/\/[a-z0-9.-]*(registry|debian)[a-z0-9.-]*\//i,
  },
  { what: 'is a path of one machine', pattern: /(^|[^A-Za-z0-9_.])\/(work|farm)\// },
  { what: 'leaves a test out or alone', pattern: /\b(it|test|describe)\.(only|skip)\(/, files: /\.tsx?$/ },
];
const notOurs = new Set(['.git', 'node_modules', 'dist', '.stamps', '.everyroom', 'coverage', 'LICENSE']);
const longestRoom = 400;
const largestFileBytes = 2_000_000;

/** Throws with a line for each fault found in the files of the project. */
export async function houseRules() {
  const files = filesBelow(readdirSync(root).filter((name) => !notOurs.has(name)));
  const faults = [];
  for (const path of files) {
    const file = relative(root, path).replaceAll('\\', '/');
    const stat = statSync(join(root, file), { throwIfNoEntry: false });
    if (!stat) continue;
    if (stat.size > largestFileBytes) faults.push(`${file} is over 2 MB`);
    if (!text.test(file) || file === 'scripts/lib/house-rules.mjs') continue;
    const lines = readFileSync(join(root, file), 'utf8').split('\n');
    if (/\.tsx?$/.test(file) && lines.length > longestRoom)
      faults.push(`${file} has ${lines.length} lines: is it one concept?`);
    lines.forEach((line, i) => {
      for (const rule of forbidden)
        if ((rule.files ?? text).test(file) && rule.pattern.test(line))
          faults.push(`${file}:${i + 1} ${rule.what}`);
    });
  }
  if (faults.length > 0) throw new Error(faults.join('\n'));
}
