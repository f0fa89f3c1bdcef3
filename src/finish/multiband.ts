import { CompressorGain, dynamicsAreNeutral, dynamicsFields } from './compressor-gain.ts';
import { Crossover } from './crossover.ts';
import { PairBench } from './pair-filter.ts';
import { alwaysFollows, type Format, type Part, type PartKind } from './part.ts';
import { Ramp } from './ramp.ts';
import type { ValuesOf } from './settings.ts';
import { type Engine, passing, Successor } from './successor.ts';

const band = (label: string) => ({ kind: 'group', label, of: dynamicsFields }) as const;

const multibandFields = {
  lowSplitHertz: {
    kind: 'number',
    label: 'lower split',
    unit: 'Hz',
    lowest: 40,
    highest: 1000,
    default: 160,
  },
  highSplitHertz: {
    kind: 'number',
    label: 'upper split',
    unit: 'Hz',
    lowest: 1000,
    highest: 10000,
    default: 3000,
  },
  low: band('lows'),
  middle: band('middle'),
  high: band('highs'),
} as const;

type Settings = ValuesOf<typeof multibandFields>;

/**
 * The compressor in three bands. The crossovers (src/finish/crossover.ts) add up to the level of the input at every
 * frequency while no band is held down; where all three are neutral nothing is split at all.
 */
export const multiband: PartKind<typeof multibandFields> = {
  id: 'multiband',
  name: 'the three-band compressor',
  fields: multibandFields,
  isNeutral: (settings) => bandsOf(settings).every(dynamicsAreNeutral),
  canFollow: alwaysFollows,
  prepare: (settings, format) => new Multiband(settings, format),
};

function bandsOf({ low, middle, high }: Settings) {
  return [low, middle, high];
}

class Multiband implements Part<Settings> {
  readonly latencySamples = 0;
  readonly tailSamples: number;
  readonly #format: Format;
  readonly #engines: Successor<Engine>;
  #running: MultibandEngine | null = null;
  #settings: Settings;

  constructor(settings: Settings, format: Format) {
    this.#format = format;
    this.#settings = settings;
    this.tailSamples = Math.ceil((12 / settings.lowSplitHertz) * format.sampleRate);
    this.#engines = new Successor<Engine>(this.#engine(settings), format.sampleRate, format.channels);
  }

  process(block: readonly Float32Array[]): void {
    this.#engines.process(block);
  }

  set(settings: Settings): void {
    const before = this.#settings;
    this.#settings = settings;
    const sameSplits =
      before.lowSplitHertz === settings.lowSplitHertz && before.highSplitHertz === settings.highSplitHertz;
    // The bands' own settings glide; only other crossovers, or none, need another engine.
    if (this.#running && sameSplits && !multiband.isNeutral(settings)) this.#running.set(settings);
    else this.#engines.follow(this.#engine(settings));
  }

  reset(): void {
    this.#engines.reset();
  }

  #engine(settings: Settings): Engine {
    this.#running = multiband.isNeutral(settings) ? null : new MultibandEngine(settings, this.#format);
    return this.#running ?? passing;
  }
}

interface BandGain {
  readonly gain: CompressorGain;
  readonly mix: Ramp;
  readonly makeUp: Ramp;
}

class MultibandEngine implements Engine {
  readonly #bench = new PairBench();
  readonly #crossover: Crossover;
  readonly #bands: readonly BandGain[];

  constructor(settings: Settings, { sampleRate }: Format) {
    this.#crossover = new Crossover(
      this.#bench,
      [settings.lowSplitHertz, settings.highSplitHertz].map((hertz) => Math.min(hertz, 0.45 * sampleRate)),
      sampleRate,
    );
    this.#bands = bandsOf(settings).map((own) => ({
      gain: new CompressorGain(own, sampleRate),
      mix: new Ramp(own.mixPercent / 100, sampleRate),
      makeUp: new Ramp(10 ** (own.makeUpDb / 20), sampleRate),
    }));
  }

  set(settings: Settings): void {
    bandsOf(settings).forEach((own, b) => {
      const { gain, mix, makeUp } = this.#bands[b];
      gain.set(own);
      mix.moveTo(own.mixPercent / 100);
      makeUp.moveTo(10 ** (own.makeUpDb / 20));
    });
  }

  process(block: readonly Float32Array[]): void {
    const frames = block[0].length;
    this.#bench.load(block);
    const split = this.#crossover.split(frames);
    const pairs = this.#bench.pairs();
    this.#bands.forEach(({ gain, mix, makeUp }, b) => {
      const own = split[b];
      const { squares, gains } = gain;
      for (let i = 0; i < frames; i++) {
        const left = own[2 * i] * own[2 * i];
        const right = own[2 * i + 1] * own[2 * i + 1];
        squares[i] = Math.max(left, right);
      }
      gain.process(frames);
      if (b === 0) pairs.fill(0, 0, 2 * frames);
      if (mix.still && makeUp.still) {
        const dry = 1 - mix.value;
        const wet = mix.value * makeUp.value;
        for (let i = 0; i < frames; i++) {
          const factor = dry + wet * gains[i];
          pairs[2 * i] += factor * own[2 * i];
          pairs[2 * i + 1] += factor * own[2 * i + 1];
        }
        return;
      }
      for (let i = 0; i < frames; i++) {
        const share = mix.next();
        const factor = 1 - share + share * makeUp.next() * gains[i];
        pairs[2 * i] += factor * own[2 * i];
        pairs[2 * i + 1] += factor * own[2 * i + 1];
      }
    });
    this.#bench.store(block);
  }

  reset(): void {
    this.#crossover.reset();
    for (const { gain, mix, makeUp } of this.#bands) {
      gain.reset();
      mix.settle();
      makeUp.settle();
    }
  }
}
