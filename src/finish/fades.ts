import { alwaysFollows, type Format, type Part, type PartKind } from './part.ts';
import type { ValuesOf } from './settings.ts';

const shapes = ['linear', 'cosine', 'equal-power'] as const;
const fadeFields = {
  inSeconds: { kind: 'number', label: 'fade-in', unit: 's', lowest: 0, highest: 60, default: 0 },
  inShape: { kind: 'choice', label: 'shape of the fade-in', choices: shapes, default: 'cosine' },
  outSeconds: { kind: 'number', label: 'fade-out', unit: 's', lowest: 0, highest: 60, default: 0 },
  outShape: { kind: 'choice', label: 'shape of the fade-out', choices: shapes, default: 'cosine' },
  endSeconds: { kind: 'number', label: 'end', unit: 's', lowest: 0, highest: 86400, default: 0 },
} as const;

type Settings = ValuesOf<typeof fadeFields>;

/**
 * Fades in from the first sample, and out to silence at `endSeconds` of the song (0: it has no end to fade to). Shapes:
 * linear; cosine, half a raised cosine; equal-power, a quarter of a sine.
 */
export const fades: PartKind<typeof fadeFields> = {
  id: 'fades',
  name: 'the fades',
  fields: fadeFields,
  isNeutral: ({ inSeconds, endSeconds }) => inSeconds === 0 && endSeconds === 0,
  canFollow: alwaysFollows,
  prepare: (settings, format) => new Fades(settings, format),
};

/** Gain of a fade at `share` of its way up, 0..1. */
export function fadeGain(shape: (typeof shapes)[number], share: number): number {
  if (share <= 0) return 0;
  if (share >= 1) return 1;
  if (shape === 'linear') return share;
  return shape === 'cosine' ? 0.5 - 0.5 * Math.cos(Math.PI * share) : Math.sin((Math.PI / 2) * share);
}

class Fades implements Part<Settings> {
  readonly latencySamples = 0;
  readonly tailSamples = 0;
  readonly #rate: number;
  readonly #late: number;
  #settings: Settings;
  /** Place in the song of the next sample. */
  #place: number;

  constructor(settings: Settings, { sampleRate, lateSamples }: Format) {
    this.#settings = settings;
    this.#rate = sampleRate;
    this.#late = lateSamples;
    this.#place = -lateSamples;
  }

  process(block: readonly Float32Array[]): void {
    const { inSeconds, inShape, outSeconds, outShape, endSeconds } = this.#settings;
    const inFrames = inSeconds * this.#rate;
    const outFrames = outSeconds * this.#rate;
    const end = endSeconds === 0 ? Number.POSITIVE_INFINITY : endSeconds * this.#rate;
    const frames = block[0].length;
    for (let i = 0; i < frames; i++) {
      const place = this.#place + i;
      let gain = place < inFrames ? fadeGain(inShape, place / inFrames) : 1;
      // Nothing at and after the end; the fade reaches it at the last sample before.
      if (place >= end) gain = 0;
      else if (place >= end - outFrames) gain *= fadeGain(outShape, (end - 1 - place) / outFrames);
      if (gain !== 1) for (const samples of block) samples[i] *= gain;
    }
    this.#place += frames;
  }

  set(settings: Settings): void {
    this.#settings = settings;
  }

  reset(at = 0): void {
    this.#place = at - this.#late;
  }
}
