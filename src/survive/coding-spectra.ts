import { frameCount, type Pcm } from '../audio/pcm.ts';
import { powerToDb } from '../signal/decibels.ts';
import { doubles, floats, instantiateKernels, type Kernels } from '../signal/kernels.ts';
import { oneSided, PairSpectrum } from '../signal/pair-spectrum.ts';
import type { Bandwidth, CodingNoise, StereoDamage } from './survive-report.ts';

const frameSize = 4096;
const bins = frameSize / 2;

/** Edges of the bands in which noise is told, Hz (a choice of ours: octaves below, narrower where codecs save bits). */
const edgesHz = [20, 60, 120, 250, 500, 1000, 2000, 4000, 8000, 12_000, 16_000, 20_000];

/** Width of the cells in which the upper end of the band is looked for, Hz. */
const cellHz = 200;
/** A sound reaches as high as its last cell within this many dB of its strongest (heuristic). */
const reachDb = 80;
/** A cell counts as lost when less than this share of its power came back (heuristic: 10 dB). */
const lostShare = 0.1;
/** A side signal this far below the whole band is no stereo to lose, power ratio (heuristic: 50 dB). */
const leastSide = 1e-5;

/** What is summed, bin by bin. */
type Part = 'sent' | 'decoded' | 'noise' | 'sideSent' | 'sideDecoded';

/**
 * What coding did to the spectrum and to the stereo image, over a whole sound that comes in pairs of blocks
 * (sent, decoded). Frames of 4096 samples end to end under a sine: what lies at their ends counts less, which makes
 * no difference over a song, and takes half the time of overlapped ones. Two transforms a frame, before and after;
 * noise and side follow from these.
 */
export class CodingSpectra {
  readonly #rate: number;
  readonly #channels: number;
  readonly #kernels: Kernels;
  readonly #sent: PairSpectrum;
  readonly #decoded: PairSpectrum;
  /** Two channels of a frame, sent and decoded. */
  readonly #loaded: readonly { readonly first: number; readonly second: number }[];
  /** Sums of first^2, second^2, (first + second)^2 and (first - second)^2, sent and decoded. */
  readonly #levels: readonly number[];
  readonly #noise: number;
  readonly #sideSent: number;
  readonly #sideDecoded: number;
  #frames = 0;

  constructor(sampleRate: number, channels: number) {
    this.#rate = sampleRate;
    this.#channels = channels;
    const kernels = instantiateKernels();
    this.#kernels = kernels;
    const frame = () => kernels.allocate(frameSize * 4);
    this.#loaded = [
      { first: frame(), second: frame() },
      { first: frame(), second: frame() },
    ];
    this.#levels = [kernels.allocate(32), kernels.allocate(32)];
    const power = () => kernels.allocate((bins + 1) * 8);
    [this.#noise, this.#sideSent, this.#sideDecoded] = [power(), power(), power()];
    this.#sent = new PairSpectrum(kernels, frameSize);
    this.#decoded = new PairSpectrum(kernels, frameSize);
  }

  /** Blocks of equal length; one or two channels. */
  push(sent: Pcm, decoded: Pcm): void {
    const frames = frameCount(sent);
    this.#frames += frames;
    for (let start = 0; start < frames; start += frameSize) {
      this.#add(this.#sent, sent, start, 0);
      this.#add(this.#decoded, decoded, start, 1);
      const [before, after] = [this.#sent.last, this.#decoded.last];
      this.#kernels.addPairChange(
        before.re,
        before.im,
        after.re,
        after.im,
        frameSize,
        this.#noise,
        this.#sideSent,
        this.#sideDecoded,
      );
    }
  }

  #add(spectrum: PairSpectrum, { channels }: Pcm, start: number, which: number): void {
    const { first, second } = this.#loaded[which];
    load(floats(this.#kernels, first, frameSize), channels[0], start);
    // The second signal of a mono sound stays silence.
    if (channels[1]) {
      load(floats(this.#kernels, second, frameSize), channels[1], start);
      this.#kernels.addPairLevels(first, second, frameSize, this.#levels[which]);
    }
    spectrum.add(first, second);
  }

  #powers(): ReadonlyMap<Part, Float64Array> {
    const at = (pointer: number) => oneSided(doubles(this.#kernels, pointer, bins + 1));
    return new Map([
      ['sent', oneSided(this.#sent.raw())],
      ['decoded', oneSided(this.#decoded.raw())],
      ['noise', at(this.#noise)],
      ['sideSent', at(this.#sideSent)],
      ['sideDecoded', at(this.#sideDecoded)],
    ]);
  }

  finish(): { noise: CodingNoise; bandwidth: Bandwidth; stereo: StereoDamage | null } {
    const power = this.#powers();
    const of = (part: Part): Float64Array => power.get(part) ?? new Float64Array(bins + 1);
    const bandEdges = edgesHz.filter((edge) => edge < this.#rate / 2);
    const bands = bandEdges
      .slice(0, -1)
      .map((lowHz, i) => ({ lowHz, highHz: Math.min(bandEdges[i + 1], this.#rate / 2) }));
    return {
      noise: {
        noiseToSoundDb: ratioDb(sum(of('noise')), sum(of('sent'))),
        bands: bands.map((band) => {
          const noise = this.#bandPower(of('noise'), band);
          return {
            ...band,
            // Half of the power passes the window.
            noiseDbfs: noise > 0 ? powerToDb((2 * noise) / (this.#frames * this.#channels)) : null,
            noiseToSoundDb: ratioDb(noise, this.#bandPower(of('sent'), band)),
          };
        }),
      },
      bandwidth: this.#bandwidth(of('sent'), of('decoded')),
      stereo: this.#channels === 2 ? this.#stereo(bands, of) : null,
    };
  }

  #bandPower(power: Float64Array, { lowHz, highHz }: { lowHz: number; highHz: number }): number {
    const bin = this.#rate / frameSize;
    return sum(power.subarray(Math.ceil(lowHz / bin), Math.ceil(highHz / bin)));
  }

  #bandwidth(sent: Float64Array, decoded: Float64Array): Bandwidth {
    const cells = Array.from({ length: Math.floor(this.#rate / 2 / cellHz) }, (_, i) => {
      const cell = { lowHz: i * cellHz, highHz: (i + 1) * cellHz };
      return { ...cell, sent: this.#bandPower(sent, cell), decoded: this.#bandPower(decoded, cell) };
    });
    const strongest = cells.reduce((most, cell) => Math.max(most, cell.sent), 0);
    if (strongest === 0) return { beforeHz: null, afterHz: null, lostHz: null };
    const inside = cells.filter((cell) => cell.sent > strongest * 10 ** (-reachDb / 10));
    const beforeHz = inside.at(-1)!.highHz;
    const afterHz = inside.findLast((cell) => cell.decoded > lostShare * cell.sent)?.highHz ?? 0;
    return { beforeHz, afterHz, lostHz: beforeHz - afterHz };
  }

  #stereo(
    bands: readonly { lowHz: number; highHz: number }[],
    of: (part: Part) => Float64Array,
  ): StereoDamage {
    const changes = bands.flatMap((band) => {
      const before = this.#bandPower(of('sideSent'), band);
      const after = this.#bandPower(of('sideDecoded'), band);
      const whole = this.#bandPower(of('sent'), band);
      // A band that is gone altogether is told as lost bandwidth, not as lost width.
      const gone = this.#bandPower(of('decoded'), band) < lostShare * whole;
      if (before === 0 || before < leastSide * whole || gone) return [];
      return [{ ...band, sideChangeDb: powerToDb(Math.max(after, before * 1e-6) / before) }];
    });
    const side = sum(of('sideSent'));
    return {
      correlationBefore: this.#correlation(0),
      correlationAfter: this.#correlation(1),
      sideChangeDb:
        side > leastSide * sum(of('sent'))
          ? powerToDb(Math.max(sum(of('sideDecoded')), side * 1e-6) / side)
          : null,
      worstBand: changes.sort((a, b) => Math.abs(b.sideChangeDb) - Math.abs(a.sideChangeDb)).at(0) ?? null,
    };
  }

  #correlation(which: number): number | null {
    const [first, second, mid, side] = doubles(this.#kernels, this.#levels[which], 4);
    if (first <= 0 || second <= 0) return null;
    return Math.max(-1, Math.min(1, (mid - side) / 4 / Math.sqrt(first * second)));
  }
}

/** One frame of a channel; silence after its end. */
function load(target: Float32Array, samples: Float32Array, start: number): void {
  const part = samples.subarray(start, start + frameSize);
  target.set(part);
  if (part.length < frameSize) target.fill(0, part.length);
}

function ratioDb(noise: number, sound: number): number | null {
  // A noise of nothing is told as the least there can be, not as an infinity.
  return sound > 0 ? powerToDb(Math.max(noise / sound, 1e-15)) : null;
}

function sum(values: Float64Array): number {
  return values.reduce((total, value) => total + value, 0);
}
