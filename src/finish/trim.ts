import { alwaysFollows, type Format, type Part, type PartKind } from './part.ts';
import { applyRamp, Ramp } from './ramp.ts';
import type { ValuesOf } from './settings.ts';

const trimFields = {
  gainDb: { kind: 'number', label: 'gain', unit: 'dB', lowest: -60, highest: 24, default: 0 },
  polarity: { kind: 'choice', label: 'polarity', choices: ['kept', 'turned'] as const, default: 'kept' },
} as const;

type Settings = ValuesOf<typeof trimFields>;

/** Level and polarity. */
export const trim: PartKind<typeof trimFields> = {
  id: 'trim',
  name: 'the trim',
  fields: trimFields,
  isNeutral: (settings) => gainOf(settings) === 1,
  canFollow: alwaysFollows,
  prepare: (settings, format) => new Trim(settings, format),
};

function gainOf({ gainDb, polarity }: Settings): number {
  return (polarity === 'turned' ? -1 : 1) * 10 ** (gainDb / 20);
}

class Trim implements Part<Settings> {
  readonly latencySamples = 0;
  readonly tailSamples = 0;
  readonly #gain: Ramp;

  constructor(settings: Settings, { sampleRate }: Format) {
    this.#gain = new Ramp(gainOf(settings), sampleRate);
  }

  process(block: readonly Float32Array[]): void {
    applyRamp(this.#gain, block);
  }

  set(settings: Settings): void {
    this.#gain.moveTo(gainOf(settings));
  }

  reset(): void {
    this.#gain.settle();
  }
}
