// Peak memory of the whole process over a three-hour 96 kHz stereo file.
import { spawnSync } from 'node:child_process';
import { join } from 'node:path';
import { root } from '../scripts/lib/root.mjs';
import { long } from './lib/song.mjs';

export async function bench() {
  const song = await long({ rate: 96_000, seconds: 3 * 3600 });
  const cli = join(root, 'dist/program/main.js');
  const wrapper = `process.on('exit', () => process.stderr.write('\\npeak ' + process.resourceUsage().maxRSS + '\\n'));
    process.argv.splice(1, process.argv.indexOf(${JSON.stringify(cli)}) - 1); await import(${JSON.stringify(cli)});`;
  const { stderr, status } = spawnSync(
    process.execPath,
    ['--input-type=module', '-e', wrapper, '-', cli, 'check', '--no-lossy', '--fresh', '--json', song],
    { encoding: 'utf8', maxBuffer: 1 << 28 },
  );
  const peak = /peak (\d+)/.exec(stderr)?.[1];
  if (status === null || status > 1 || !peak) throw new Error(`check ended with ${status}: ${stderr}`);
  process.stdout.write(
    `three hours at 96 kHz: peak memory ${(Number(peak) / 2 ** 20).toFixed(2)} GiB (target under 1)\n`,
  );
}
