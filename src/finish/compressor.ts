import { CompressorGain, dynamicsAreNeutral, dynamicsFields, SideChain } from './compressor-gain.ts';
import { alwaysFollows, type Format, mostFrames, type Part, type PartKind } from './part.ts';
import { Ramp } from './ramp.ts';
import type { ValuesOf } from './settings.ts';

const compressorFields = {
  ...dynamicsFields,
  sideChainHertz: {
    kind: 'number',
    label: 'side-chain filter',
    unit: 'Hz',
    lowest: 0,
    highest: 500,
    default: 0,
  },
  on: { kind: 'choice', label: 'channel', choices: ['both', 'mid', 'side'] as const, default: 'both' },
} as const;

type Settings = ValuesOf<typeof compressorFields>;

/**
 * Compressor over the whole range, on left and right together (the louder side rules, so that the picture does not move), or
 * on mid or side alone. Mix adds the untouched sound (parallel compression).
 */
export const compressor: PartKind<typeof compressorFields> = {
  id: 'compressor',
  name: 'the compressor',
  fields: compressorFields,
  isNeutral: dynamicsAreNeutral,
  canFollow: alwaysFollows,
  prepare: (settings, format) => new Compressor(settings, format),
};

class Compressor implements Part<Settings> {
  readonly latencySamples = 0;
  readonly tailSamples = 0;
  readonly #format: Format;
  readonly #gain: CompressorGain;
  readonly #mix: Ramp;
  readonly #makeUp: Ramp;
  readonly #midSide = [new Float32Array(mostFrames), new Float32Array(mostFrames)];
  #sideChain: SideChain;
  #settings: Settings;
  /** Still changing something: it runs until the last ramp stands. */
  #active: boolean;

  constructor(settings: Settings, format: Format) {
    this.#settings = settings;
    this.#format = format;
    this.#gain = new CompressorGain(settings, format.sampleRate);
    this.#mix = new Ramp(mixOf(settings), format.sampleRate);
    this.#makeUp = new Ramp(10 ** (settings.makeUpDb / 20), format.sampleRate);
    this.#sideChain = this.#newSideChain();
    this.#active = !dynamicsAreNeutral(settings);
  }

  process(block: readonly Float32Array[]): void {
    if (!this.#active) return;
    const frames = block[0].length;
    const { on } = this.#settings;
    if (on === 'both' || block.length === 1) {
      // A single channel has no side.
      if (on !== 'side') this.#hold(block, block, frames);
    } else {
      const [mid, side] = this.#midSide.map((room) => room.subarray(0, frames));
      const [left, right] = block;
      for (let i = 0; i < frames; i++) {
        mid[i] = (left[i] + right[i]) / 2;
        side[i] = (left[i] - right[i]) / 2;
      }
      const held = on === 'mid' ? mid : side;
      this.#hold([held], [held], frames);
      for (let i = 0; i < frames; i++) {
        left[i] = mid[i] + side[i];
        right[i] = mid[i] - side[i];
      }
    }
    if (
      dynamicsAreNeutral(this.#settings) &&
      this.#mix.still &&
      this.#makeUp.still &&
      this.#gain.changeDb === 0
    )
      this.#active = false;
  }

  set(settings: Settings): void {
    const before = this.#settings;
    this.#settings = settings;
    this.#gain.set(settings);
    this.#mix.moveTo(mixOf(settings));
    this.#makeUp.moveTo(10 ** (settings.makeUpDb / 20));
    if (before.sideChainHertz !== settings.sideChainHertz) this.#sideChain = this.#newSideChain();
    if (!dynamicsAreNeutral(settings)) this.#active = true;
  }

  reset(): void {
    this.#gain.reset();
    this.#mix.settle();
    this.#makeUp.settle();
    this.#sideChain.reset();
    this.#active = !dynamicsAreNeutral(this.#settings);
  }

  #newSideChain(): SideChain {
    return new SideChain(this.#settings.sideChainHertz, this.#format.channels, this.#format.sampleRate);
  }

  #hold(level: readonly Float32Array[], channels: readonly Float32Array[], frames: number): void {
    const { squares, gains } = this.#gain;
    this.#sideChain.squares(level, squares);
    this.#gain.process(frames);
    if (this.#mix.still && this.#makeUp.still) {
      const mix = this.#mix.value;
      const wet = mix * this.#makeUp.value;
      const dry = 1 - mix;
      for (const samples of channels) for (let i = 0; i < frames; i++) samples[i] *= dry + wet * gains[i];
      return;
    }
    for (let i = 0; i < frames; i++) {
      const mix = this.#mix.next();
      const gain = 1 - mix + mix * this.#makeUp.next() * gains[i];
      for (const samples of channels) samples[i] *= gain;
    }
  }
}

function mixOf({ mixPercent }: Settings): number {
  return mixPercent / 100;
}
