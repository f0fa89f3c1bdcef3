import { highPass } from '../signal/butterworth.ts';
import { allPass, Crossover } from './crossover.ts';
import { PairBench, PairFilter } from './pair-filter.ts';
import { alwaysFollows, type Format, type Part, type PartKind } from './part.ts';
import type { ValuesOf } from './settings.ts';
import { type Engine, passing, SucceedingPart } from './successor.ts';

const percent = (label: string) =>
  ({ kind: 'number', label, unit: '%', lowest: 0, highest: 200, default: 100 }) as const;

const widthFields = {
  monoBelowHertz: { kind: 'number', label: 'mono below', unit: 'Hz', lowest: 0, highest: 500, default: 0 },
  lowSplitHertz: {
    kind: 'number',
    label: 'lower split',
    unit: 'Hz',
    lowest: 40,
    highest: 1000,
    default: 200,
  },
  highSplitHertz: {
    kind: 'number',
    label: 'upper split',
    unit: 'Hz',
    lowest: 1000,
    highest: 10000,
    default: 4000,
  },
  lowPercent: percent('width of the lows'),
  middlePercent: percent('width of the middle'),
  highPercent: percent('width of the highs'),
} as const;

type Settings = ValuesOf<typeof widthFields>;

/**
 * Mono below a frequency, and width by three bands: the side signal by a percentage, 100 leaving it, 0 mono. Mid and side
 * pass filters of the same phase, so that what stands in the middle or at a side keeps its place around the splits.
 * A single channel passes unchanged.
 */
export const width: PartKind<typeof widthFields> = {
  id: 'width',
  name: 'the width',
  fields: widthFields,
  isNeutral: (settings) => settings.monoBelowHertz === 0 && !splits(settings),
  canFollow: alwaysFollows,
  prepare,
};

function splits({ lowPercent, middlePercent, highPercent }: Settings): boolean {
  return lowPercent !== 100 || middlePercent !== 100 || highPercent !== 100;
}

/** A split lower than this is taken to be here. */
const lowestMono = 10;

function prepare(settings: Settings, format: Format): Part<Settings> {
  const lowest = settings.monoBelowHertz === 0 ? settings.lowSplitHertz : settings.monoBelowHertz;
  const tailSamples = Math.ceil((12 / Math.max(lowestMono, lowest)) * format.sampleRate);
  if (format.channels !== 2) return { latencySamples: 0, tailSamples, set() {}, ...passing };
  const engineOf = (each: Settings): Engine =>
    width.isNeutral(each) ? passing : new WidthEngine(each, format.sampleRate);
  return new SucceedingPart(settings, format, engineOf, { tailSamples });
}

class WidthEngine implements Engine {
  readonly #bench = new PairBench();
  readonly #lowMono: PairFilter | null = null;
  readonly #crossover: Crossover | null = null;
  readonly #shares: readonly number[];

  constructor(settings: Settings, sampleRate: number) {
    const { monoBelowHertz, lowSplitHertz, highSplitHertz, lowPercent, middlePercent, highPercent } =
      settings;
    if (monoBelowHertz > 0) {
      const hertz = Math.max(lowestMono, monoBelowHertz);
      const side = highPass(hertz, sampleRate);
      this.#lowMono = new PairFilter(this.#bench, [
        { first: allPass(hertz, sampleRate), second: side },
        { first: { b0: 1, b1: 0, b2: 0, a1: 0, a2: 0 }, second: side },
      ]);
    }
    if (splits(settings))
      this.#crossover = new Crossover(this.#bench, [lowSplitHertz, highSplitHertz], sampleRate);
    this.#shares = [lowPercent, middlePercent, highPercent].map((share) => share / 100);
  }

  process(block: readonly Float32Array[]): void {
    const frames = block[0].length;
    this.#bench.load(block);
    this.#bench.toMidSide(frames);
    this.#lowMono?.process(this.#bench.data, frames);
    if (this.#crossover) {
      const bands = this.#crossover.split(frames);
      const pairs = this.#bench.pairs();
      const [low, middle, high] = this.#shares;
      for (let i = 0; i < 2 * frames; i += 2) {
        pairs[i] = bands[0][i] + bands[1][i] + bands[2][i];
        pairs[i + 1] = low * bands[0][i + 1] + middle * bands[1][i + 1] + high * bands[2][i + 1];
      }
    }
    this.#bench.toLeftRight(frames);
    this.#bench.store(block);
  }

  reset(): void {
    this.#lowMono?.reset();
    this.#crossover?.reset();
  }
}
