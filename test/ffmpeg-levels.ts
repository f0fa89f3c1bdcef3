import { execFileSync } from 'node:child_process';

/** Integrated loudness and true peak as ffmpeg's ebur128 filter reads them; figures to a tenth. `input`: ffmpeg's arguments up to the file. */
export function levelsByFfmpeg(...input: readonly string[]): { lufs: number; dbtp: number } {
  const args = ['-hide_banner', '-nostats', ...input, '-af', 'ebur128=peak=true', '-f', 'null', '-'];
  const text = execFileSync('sh', ['-c', 'exec ffmpeg "$@" 2>&1', 'sh', ...args], { encoding: 'utf8' });
  const summary = text.slice(text.lastIndexOf('Summary'));
  return {
    lufs: Number(/I:\s+(-?[\d.]+) LUFS/.exec(summary)?.[1]),
    dbtp: Number(/Peak:\s+(-?[\d.]+) dBFS/.exec(summary)?.[1]),
  };
}
