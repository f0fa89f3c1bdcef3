import type { WideBandName } from '../measure/wide-bands.ts';
import type { PlaceEffect } from './place-effect.ts';

/** The figures by which a song is compared with references in the same place. */
export type PlaceFigureName =
  | `heard-${WideBandName}`
  | `balance-${WideBandName}`
  | 'loudness-loss'
  | 'lost'
  | 'mono-loss'
  | 'harshness'
  | 'pumping'
  | 'bass-carried';

/** What a figure is of, and which band where it is one of a band. */
export function figureParts(name: string): { readonly kind: string; readonly band: WideBandName | null } {
  const [kind, band = null] = name.split(/-(?=(?:low|lowMid|mid|presence|air)$)/);
  return { kind, band: band as WideBandName | null };
}

export interface PlaceFigure {
  readonly name: PlaceFigureName;
  /** Share 0..1, phon, dB or dB a second. */
  readonly value: number;
  /** Lowest and highest of the references that have the figure; null without any. */
  readonly references: { readonly low: number; readonly high: number; readonly count: number } | null;
  /**
   * How far the song lies outside what the references do, in steps of what is worth a word: 1 is just worth it. Positive
   * above, negative below, 0 inside. Without references against this project's own bounds (heuristics).
   */
  readonly outside: number;
}

/** What is worth a word, and bounds where there are no references; heuristics of this project. */
const scales: Record<string, { readonly step: number; readonly low?: number; readonly high?: number }> = {
  heard: { step: 0.15, low: 0.5 },
  balance: { step: 3, low: -6, high: 6 },
  'loudness-loss': { step: 2, high: 15 },
  lost: { step: 0.05, high: 0.1 },
  'mono-loss': { step: 1, high: 2 },
  harshness: { step: 2, high: 4 },
  pumping: { step: 2, high: 6 },
  'bass-carried': { step: 0.2, low: 0.3 },
};
/** Only too much of these is a fault; of shares only too little. */
const onlyHigh = new Set(['loudness-loss', 'lost', 'mono-loss', 'harshness', 'pumping']);
const onlyLow = new Set(['heard', 'bass-carried']);
/** Bands that a song hardly plays in say nothing, share of the time (heuristic). */
const leastActive = 0.1;

/** The figures of one effect, those without meaning left out. */
export function figuresOf(effect: PlaceEffect): ReadonlyMap<PlaceFigureName, number> {
  const figures: [PlaceFigureName, number | null][] = effect.bands.flatMap(
    (band): [PlaceFigureName, number | null][] =>
      band.activeShare < leastActive
        ? []
        : [
            [`heard-${band.band}`, band.heardShare],
            // The balance of what is hardly heard is no balance.
            [`balance-${band.band}`, (band.heardShare ?? 0) < 0.3 ? null : band.balanceShiftPhon],
          ],
  );
  figures.push(
    ['loudness-loss', effect.loudnessLossPhon],
    ['lost', effect.lostShare],
    ['mono-loss', effect.monoLossDb],
    ['harshness', effect.harshnessPhon],
    ['pumping', effect.protection.movementDbPerSecond],
    ['bass-carried', effect.bassCarriedShare],
  );
  return new Map(figures.flatMap(([name, value]) => (value === null ? [] : [[name, value] as const])));
}

/**
 * A song in a place against references in the same place at the same level: worst first. Silent references are left out by
 * the caller.
 */
export function placeAgainst(song: PlaceEffect, references: readonly PlaceEffect[]): PlaceFigure[] {
  const others = references.map(figuresOf);
  const figures = [...figuresOf(song)].map(([name, value]): PlaceFigure => {
    const values = others.flatMap((figure) => figure.get(name) ?? []);
    const { kind } = figureParts(name);
    const { step, low, high } = scales[kind];
    const range =
      values.length > 0
        ? { low: Math.min(...values), high: Math.max(...values), count: values.length }
        : null;
    const under = (range?.low ?? low ?? Number.NEGATIVE_INFINITY) - value;
    const over = value - (range?.high ?? high ?? Number.POSITIVE_INFINITY);
    const outside =
      over > 0 && !onlyLow.has(kind) ? over / step : under > 0 && !onlyHigh.has(kind) ? -under / step : 0;
    return { name, value, references: range, outside };
  });
  return figures.sort((a, b) => Math.abs(b.outside) - Math.abs(a.outside));
}

/** How badly a song fares in a place, for putting the worst first: its outlying figures together. */
export function severity(figures: readonly PlaceFigure[]): number {
  return Math.sqrt(figures.reduce((sum, { outside }) => sum + Math.max(0, Math.abs(outside) - 0.5) ** 2, 0));
}
