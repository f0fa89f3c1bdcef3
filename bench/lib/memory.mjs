// Peak memory of a command of ours, as the process itself tells it in the end.
import { spawnSync } from 'node:child_process';
import { join } from 'node:path';
import { root } from '../../scripts/lib/root.mjs';

const cli = join(root, 'dist/program/main.js');
const telling = `process.on('exit', () => process.stderr.write('\\npeak ' + process.resourceUsage().maxRSS + '\\n'))`;

/** Peak resident memory in GiB; throws when the command fails (exit status above 1). */
export function peakGib(args) {
  const preload = `data:text/javascript,${encodeURIComponent(telling)}`;
  const { stderr, status } = spawnSync(process.execPath, ['--import', preload, cli, ...args], {
    encoding: 'utf8',
    maxBuffer: 1 << 28,
  });
  const peaks = [...stderr.matchAll(/peak (\d+)/g)].map(([, kib]) => Number(kib));
  if (status === null || status > 1 || peaks.length === 0)
    throw new Error(`${args[0]} ended with ${status}: ${stderr}`);
  return Math.max(...peaks) / 2 ** 20;
}
