import { passAll } from '../signal/butterworth.ts';
import type { Biquad } from '../signal/k-weighting.ts';
import { type AnalogueSection, analoguePower, bell, highShelf, lowShelf, pass, tilt } from './analogue.ts';
import { Delay } from './delay.ts';
import {
  type Gain,
  type GainMatrix,
  LinearPhase,
  linearPhaseLatency,
  linearPhaseTaps,
} from './linear-phase.ts';
import { matchSection } from './matched.ts';
import { PairBench, PairFilter, type PairSection } from './pair-filter.ts';
import type { Format, Part, PartKind } from './part.ts';
import type { ValuesOf } from './settings.ts';
import { type Engine, Successor } from './successor.ts';

const bandFields = {
  shape: {
    kind: 'choice',
    label: 'shape',
    choices: ['bell', 'low-shelf', 'high-shelf', 'low-cut', 'high-cut', 'tilt'] as const,
    default: 'bell',
  },
  hertz: { kind: 'number', label: 'frequency', unit: 'Hz', lowest: 10, highest: 20000, default: 1000 },
  gainDb: { kind: 'number', label: 'gain', unit: 'dB', lowest: -24, highest: 24, default: 0 },
  q: { kind: 'number', label: 'Q', unit: 'Q', lowest: 0.1, highest: 30, default: Math.SQRT1_2 },
  slope: { kind: 'choice', label: 'slope', choices: ['12', '24', '48'] as const, default: '12' },
  on: {
    kind: 'choice',
    label: 'channel',
    choices: ['both', 'left', 'right', 'mid', 'side'] as const,
    default: 'both',
  },
  phase: { kind: 'choice', label: 'phase', choices: ['minimum', 'linear'] as const, default: 'minimum' },
} as const;

export const equaliserFields = {
  bands: { kind: 'list', label: 'band', most: 12, of: bandFields },
} as const;

type Settings = ValuesOf<typeof equaliserFields>;
/** A band of the equaliser. Gain and Q say nothing of a cut, slope (dB an octave) of nothing else, Q nothing of a tilt. */
export type Band = ValuesOf<typeof bandFields>;

/** Shelves above this Q would ring more than they shelve. */
const steepestShelf = 2;
/** Frequencies stay below this share of the sample rate (only at rates under 41 kHz does that say anything). */
const highestShare = 0.49;

/** Whether a band changes nothing. */
export function bandIsNeutral({ shape, gainDb }: Band): boolean {
  return gainDb === 0 && shape !== 'low-cut' && shape !== 'high-cut';
}

/** The analogue filters whose magnitude a band has. */
export function bandSections({ shape, hertz, gainDb, q, slope }: Band): AnalogueSection[] {
  switch (shape) {
    case 'bell':
      return [bell(hertz, gainDb, q)];
    case 'low-shelf':
      return [lowShelf(hertz, gainDb, Math.min(q, steepestShelf))];
    case 'high-shelf':
      return [highShelf(hertz, gainDb, Math.min(q, steepestShelf))];
    case 'tilt':
      return [tilt(hertz, gainDb)];
    case 'low-cut':
      return pass('high-pass', hertz, Number(slope) / 6);
    case 'high-cut':
      return pass('low-pass', hertz, Number(slope) / 6);
  }
}

/**
 * Equaliser of up to twelve bands. Their magnitude is that of the analogue filter up to 20 kHz (src/finish/matched.ts), with
 * minimum phase or with none. Bands on left, right or both come before bands on mid or side; on a single channel left
 * and mid are that channel, right and side are nothing.
 */
export const equaliser: PartKind<typeof equaliserFields> = {
  id: 'equaliser',
  name: 'the equaliser',
  fields: equaliserFields,
  isNeutral: ({ bands }) => bands.every(bandIsNeutral),
  canFollow: (before, after) => hasLinear(before) === hasLinear(after),
  prepare: (settings, format) => new Equaliser(settings, format),
};

/** A linear band asks for its latency even while it is neutral, so that turning it through 0 dB changes nothing else. */
function hasLinear({ bands }: Settings): boolean {
  return bands.some(({ phase }) => phase === 'linear');
}

class Equaliser implements Part<Settings> {
  readonly latencySamples: number;
  readonly tailSamples: number;
  readonly #format: Format;
  readonly #engines: Successor<EqualiserEngine>;
  /** Filters once found for a band: turning one band does not ask for the others again. */
  #designs = new Map<string, Biquad[]>();

  constructor(settings: Settings, format: Format) {
    this.#format = format;
    this.latencySamples = hasLinear(settings) ? linearPhaseLatency(format.sampleRate) : 0;
    this.tailSamples =
      this.latencySamples +
      Math.ceil(tailSeconds(settings) * format.sampleRate) +
      linearPhaseTaps(format.sampleRate);
    this.#engines = new Successor(this.#engine(settings), format.sampleRate, format.channels);
  }

  process(block: readonly Float32Array[]): void {
    this.#engines.process(block);
  }

  set(settings: Settings): void {
    const memory = hasLinear(settings)
      ? this.latencySamples + linearPhaseTaps(this.#format.sampleRate) / 2
      : 0;
    this.#engines.follow(this.#engine(settings), memory);
  }

  reset(): void {
    this.#engines.reset();
  }

  #engine(settings: Settings): EqualiserEngine {
    const before = this.#designs;
    this.#designs = new Map();
    return new EqualiserEngine(settings, this.#format, (band) => {
      const { on: _, phase: __, ...shape } = band;
      const name = JSON.stringify(shape);
      const row =
        this.#designs.get(name) ??
        before.get(name) ??
        bandSections(band).flatMap((section) => matchSection(section, this.#format.sampleRate));
      this.#designs.set(name, row);
      return row;
    });
  }
}

/** Time in which the slowest band falls by 120 dB: its poles lie at -w0/(2Q), a bell that cuts has a wider one. */
function tailSeconds({ bands }: Settings): number {
  const times = bands.map(({ hertz, q, gainDb, shape }) => {
    const narrow = shape === 'bell' ? q * 10 ** (Math.abs(gainDb) / 40) : 3;
    return (
      (13.9 * Math.max(1, 2 * narrow) * (shape === 'tilt' ? 10 ** (Math.abs(gainDb) / 40) : 1)) /
      (2 * Math.PI * hertz)
    );
  });
  return Math.max(0, ...times) * 2;
}

/** The filters of one setting. */
class EqualiserEngine implements Engine {
  readonly #bench: PairBench | null;
  readonly #leftRight: PairFilter | null = null;
  readonly #midSide: PairFilter | null = null;
  readonly #linear: Engine | null = null;

  constructor({ bands }: Settings, { sampleRate, channels }: Format, design: (band: Band) => Biquad[]) {
    const limited = bands.map((band) => ({
      ...band,
      hertz: Math.min(band.hertz, highestShare * sampleRate),
    }));
    const heard = limited.filter((band) => !bandIsNeutral(band) && (channels > 1 || isOnOne(band)));
    const minimum = heard.filter(({ phase }) => phase === 'minimum');
    const rows = (wanted: (band: Band) => boolean) =>
      minimum.filter(wanted).flatMap((band) => design(band).map((filter) => sectionOf(band, filter)));
    const leftRight = rows((band) => channels === 1 || !isMidSide(band));
    const midSide = rows((band) => channels > 1 && isMidSide(band));
    this.#bench = minimum.length > 0 ? new PairBench() : null;
    if (this.#bench && leftRight.length > 0) this.#leftRight = new PairFilter(this.#bench, leftRight);
    if (this.#bench && midSide.length > 0) this.#midSide = new PairFilter(this.#bench, midSide);
    const linear = heard.filter(({ phase }) => phase === 'linear');
    if (linear.length > 0) this.#linear = linearFilter(linear, channels, sampleRate);
    // A neutral one is still late, so that turning it through 0 dB changes nothing else.
    else if (hasLinear({ bands })) this.#linear = new Delay(linearPhaseLatency(sampleRate), channels);
  }

  process(block: readonly Float32Array[]): void {
    const frames = block[0].length;
    if (this.#bench) {
      this.#bench.load(block);
      this.#leftRight?.process(this.#bench.data, frames);
      if (this.#midSide) {
        this.#bench.toMidSide(frames);
        this.#midSide.process(this.#bench.data, frames);
        this.#bench.toLeftRight(frames);
      }
      this.#bench.store(block);
    }
    this.#linear?.process(block);
  }

  reset(): void {
    this.#leftRight?.reset();
    this.#midSide?.reset();
    this.#linear?.reset();
  }
}

function isMidSide({ on }: Band): boolean {
  return on === 'mid' || on === 'side';
}

/** Whether a band says anything of a single channel. */
function isOnOne({ on }: Band): boolean {
  return on !== 'right' && on !== 'side';
}

function sectionOf({ on }: Band, filter: Biquad): PairSection {
  return {
    first: on === 'right' || on === 'side' ? passAll : filter,
    second: on === 'left' || on === 'mid' ? passAll : filter,
  };
}

function gainOf(bands: readonly Band[]): Gain {
  const sections = bands.flatMap(bandSections);
  return (hertz) =>
    Math.sqrt(sections.reduce((product, section) => product * analoguePower(section, hertz), 1));
}

/** All linear bands as one filter. */
function linearFilter(bands: readonly Band[], channels: number, sampleRate: number): LinearPhase {
  const on = (...names: Band['on'][]) => gainOf(bands.filter((band) => names.includes(band.on)));
  const left = on('both', 'left');
  const right = on('both', 'right');
  const mid = on('mid');
  const side = on('side');
  if (channels === 1) return new LinearPhase([[gainOf(bands)]], sampleRate);
  // mid/side of what left and right have become, and back to left and right
  const straight =
    (of: Gain): Gain =>
    (hertz) =>
      (of(hertz) * (mid(hertz) + side(hertz))) / 2;
  const across =
    (of: Gain): Gain =>
    (hertz) =>
      (of(hertz) * (mid(hertz) - side(hertz))) / 2;
  const crossed = bands.some(isMidSide);
  const matrix: GainMatrix = [
    [straight(left), crossed ? across(right) : null],
    [crossed ? across(left) : null, straight(right)],
  ];
  return new LinearPhase(matrix, sampleRate);
}
