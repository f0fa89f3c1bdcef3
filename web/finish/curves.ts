import { analogueGainDb, pass } from '../../src/finish/analogue.ts';
import type { Chain } from '../../src/finish/chain.ts';
import { type Band, bandIsNeutral, bandSections } from '../../src/finish/equaliser.ts';

/** Frequencies that curves are drawn at, Hz: 24 an octave, 20 Hz to 20 kHz. */
export const drawnHertz: readonly number[] = Array.from({ length: 241 }, (_, i) => 20 * 1000 ** (i / 240));

export interface NamedCurve {
  readonly name: string;
  readonly gainDb: readonly number[];
}

/** Gain of bands at the drawn frequencies, dB. */
export function curveOf(bands: readonly Band[]): number[] {
  const sections = bands.filter((band) => !bandIsNeutral(band)).map(bandSections);
  return drawnHertz.map((hertz) => sections.reduce((sum, each) => sum + analogueGainDb(each, hertz), 0));
}

/** What bands do to each signal, as many curves as differ: one where all work on both sides alike. */
export function curvesOf(bands: readonly Band[]): NamedCurve[] {
  const on = (signal: Band['on']) => bands.filter((band) => band.on === 'both' || band.on === signal);
  const used = (signals: readonly Band['on'][]) =>
    bands.some((band) => signals.includes(band.on) && !bandIsNeutral(band));
  const named = (signals: readonly Band['on'][]) =>
    signals.map((name) => ({ name, gainDb: curveOf(on(name)) }));
  const midSide = used(['mid', 'side']);
  const leftRight = used(['left', 'right']);
  if (!midSide && !leftRight) return [{ name: 'both sides', gainDb: curveOf(on('both')) }];
  return [...(midSide ? named(['mid', 'side']) : []), ...(leftRight ? named(['left', 'right']) : [])];
}

/** What all filters of a chain do together to what is the same on both sides, dB; null when only one of them does anything. */
export function wholeCurve({ parts }: Chain): number[] | null {
  const filters = parts.filter(
    ({ kind, bypassed, settings }) =>
      !bypassed &&
      (kind === 'equaliser'
        ? (settings.bands as readonly Band[]).some((band) => !bandIsNeutral(band))
        : kind === 'sub-filter' && settings.hertz !== 0),
  );
  if (filters.length < 2) return null;
  const curves = filters.map(({ kind, settings }) => {
    if (kind === 'equaliser')
      return curveOf((settings.bands as readonly Band[]).filter(({ on }) => on === 'both' || on === 'mid'));
    const sections = pass('high-pass', Number(settings.hertz), Number(settings.slope) / 6);
    return drawnHertz.map((hertz) => analogueGainDb(sections, hertz));
  });
  return drawnHertz.map((_, i) => curves.reduce((sum, curve) => sum + (curve[i] ?? 0), 0));
}
