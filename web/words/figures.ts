import { signed, figure as written } from '../../src/judge/wording.ts';

/** How figures are set on the page: as the rules' sentences write them, and an en dash for what does not exist. */

const none = '–';

/** `value` with `decimals` places; never '−0.0'. */
export function figure(value: number | null | undefined, decimals = 1): string {
  return value === null || value === undefined ? none : written(value, decimals);
}

/** A difference, with its sign always shown: '+1.2', '−0.4', '±0.0'. */
export function difference(value: number | null | undefined, decimals = 1): string {
  if (value === null || value === undefined) return none;
  return Number(value.toFixed(decimals)) === 0 ? `±${written(0, decimals)}` : signed(value, '', decimals);
}

/** Seconds as a place in a song: '1:02', '1:02.35' with decimals, '1:00:02' past the hour. */
export function clock(seconds: number, decimals = 0): string {
  const scale = 10 ** decimals;
  const whole = Math.round(Math.max(0, seconds) * scale) / scale;
  const hours = Math.floor(whole / 3600);
  const minutes = Math.floor(whole / 60) % 60;
  const rest = (whole % 60).toFixed(decimals).padStart(decimals ? decimals + 3 : 2, '0');
  return hours ? `${hours}:${String(minutes).padStart(2, '0')}:${rest}` : `${minutes}:${rest}`;
}

/** A stretch of time in as few digits as tell its ends apart; a moment shorter than that is one figure. */
export function stretch(span: { startSeconds: number; endSeconds: number }): string {
  for (const decimals of [0, 1, 2]) {
    const from = clock(span.startSeconds, decimals);
    const to = clock(span.endSeconds, decimals);
    if (from !== to && (decimals > 0 || span.endSeconds - span.startSeconds >= 2)) return `${from}–${to}`;
  }
  return clock(span.startSeconds, 2);
}

/** Bytes in the units of a file manager (powers of 1000). */
export function bytes(count: number): string {
  if (count < 1000) return `${count} B`;
  const power = Math.min(3, Math.floor(Math.log10(count) / 3));
  const value = count / 1000 ** power;
  return `${value < 10 ? value.toFixed(1) : Math.round(value)} ${['B', 'kB', 'MB', 'GB'][power]}`;
}

/** Hz as on an axis: '31.5', '400', '1.25k'. */
export function hertz(value: number): string {
  return value >= 1000 ? `${Number((value / 1000).toPrecision(3))}k` : String(Number(value.toPrecision(3)));
}

/** A count with its noun: '1 over', '12 overs'. */
export function count(n: number, one: string, many = `${one}s`): string {
  return `${n} ${n === 1 ? one : many}`;
}

/** Sample rate in kHz with as many decimals as it needs: '44.1 kHz'. */
export function kilohertz(rate: number): string {
  return `${Number((rate / 1000).toFixed(3))} kHz`;
}

/** A figure in its unit: levels against full scale carry their sign, what is counted is whole. */
export function inUnit(value: number | null | undefined, unit: string): string {
  if (value === null || value === undefined) return none;
  if (unit === 'dBTP' || unit === 'dBFS') return signed(value, '');
  return written(value, unit === 'bit' || unit === 'runs' || unit === '' ? 0 : 1);
}
