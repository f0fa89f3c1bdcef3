import { figure } from '../../judge/wording.ts';
import type { ToneResult } from '../../measure/measurement.ts';
import { html, type Markup } from '../markup.ts';
import { area, bottomOf, frame } from './frame.ts';
import { at, linear, steps } from './scale.ts';

const height = 190;
const deepest = 60;
const lowestHz = 17.5;
const highestHz = 22_700;
const labelled = [20, 50, 100, 200, 500, 1000, 2000, 5000, 10_000, 20_000];

/** Third-octave bands as bars over a logarithmic frequency axis, relative to the sum of all. */
export function spectrumPlot({
  centresHz,
  levelsDb,
}: Pick<ToneResult, 'centresHz' | 'levelsDb'>): Markup | null {
  const levels = levelsDb.filter((level) => level !== null);
  if (levels.length === 0) return null;
  const top = Math.min(0, Math.ceil(Math.max(...levels) / 6) * 6);
  const bottom = Math.max(top - deepest, Math.min(top - 24, Math.floor(Math.min(...levels) / 6) * 6));
  const base = bottomOf(height);
  const y = linear(top, bottom, area.top, base);
  const octave = linear(Math.log2(lowestHz), Math.log2(highestHz), area.left, area.right);
  const x = (hz: number) => octave(Math.log2(hz));
  const sixth = 2 ** (1 / 6);
  return frame(
    {
      description: 'Third-octave spectrum of the whole song',
      height,
      xTitle: 'frequency, Hz (third octaves)',
      yTitle: 'share of all, dB',
      xTicks: labelled.map((hz) => ({ position: x(hz), label: hz < 1000 ? String(hz) : `${hz / 1000}k` })),
      yTicks: steps(bottom, top, 12).map((value) => ({ position: y(value), label: figure(value, 0) })),
    },
    centresHz.flatMap((hz, i) => {
      const level = levelsDb[i];
      if (level === null || level === undefined || level <= bottom) return [];
      const left = x(hz / sixth) + 0.75;
      return [
        html`<rect class="band" x="${at(left)}" width="${at(x(hz * sixth) - 0.75 - left)}" y="${at(y(level))}" height="${at(base - y(level))}"><title>${hz} Hz: ${figure(level)} dB</title></rect>`,
      ];
    }),
  );
}
