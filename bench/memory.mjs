// Peak memory of the whole process over a three-hour 96 kHz stereo file.
import { peakGib } from './lib/memory.mjs';
import { long } from './lib/song.mjs';

export async function bench() {
  const song = await long({ rate: 96_000, seconds: 3 * 3600 });
  const peak = peakGib(['check', '--no-lossy', '--fresh', '--json', song]);
  process.stdout.write(`three hours at 96 kHz: peak memory ${peak.toFixed(2)} GiB (target under 1)\n`);
}
