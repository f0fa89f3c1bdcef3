import { frameCount, type Pcm } from '../audio/pcm.ts';
import { powerToDb } from '../signal/decibels.ts';
import { floats, instantiateKernels, type Kernels } from '../signal/kernels.ts';
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

/** The signals whose spectra are summed. Two share a transform: (left, right). */
type Part = 'sent' | 'decoded' | 'noise' | 'sideSent' | 'sideDecoded';
const partsOf = (channels: number): Part[] =>
  channels === 2 ? ['sent', 'decoded', 'noise', 'sideSent', 'sideDecoded'] : ['sent', 'decoded', 'noise'];

/**
 * What coding did to the spectrum and to the stereo image, over a whole sound that comes in pairs of blocks
 * (sent, decoded). Frames of 4096 samples end to end under a sine: what lies at their ends counts less, which makes
 * no difference over a song, and takes half the time of overlapped ones.
 */
export class CodingSpectra {
  readonly #rate: number;
  readonly #channels: number;
  readonly #kernels: Kernels;
  readonly #spectra: ReadonlyMap<Part, PairSpectrum>;
  readonly #first: number;
  readonly #second: number;
  #frames = 0;
  readonly #products = { sent: [0, 0, 0], decoded: [0, 0, 0] };

  constructor(sampleRate: number, channels: number) {
    this.#rate = sampleRate;
    this.#channels = channels;
    this.#kernels = instantiateKernels();
    this.#first = this.#kernels.allocate(frameSize * 4);
    this.#second = this.#kernels.allocate(frameSize * 4);
    this.#spectra = new Map(
      partsOf(channels).map((part) => [part, new PairSpectrum(this.#kernels, frameSize)]),
    );
  }

  /** Blocks of equal length; one or two channels. */
  push(sent: Pcm, decoded: Pcm): void {
    const frames = frameCount(sent);
    this.#frames += frames;
    if (this.#channels === 2) {
      addProducts(sent.channels, this.#products.sent);
      addProducts(decoded.channels, this.#products.decoded);
    }
    const zeros = new Float32Array(0);
    for (let start = 0; start < frames; start += frameSize)
      for (const [part, spectrum] of this.#spectra) {
        const first = floats(this.#kernels, this.#first, frameSize);
        const second = floats(this.#kernels, this.#second, frameSize);
        switch (part) {
          case 'sent':
          case 'decoded': {
            const { channels } = part === 'sent' ? sent : decoded;
            load(first, channels[0], zeros, start, 1, 0);
            load(second, channels[1] ?? zeros, zeros, start, 1, 0);
            break;
          }
          case 'noise':
            load(first, decoded.channels[0], sent.channels[0], start, 1, -1);
            load(second, decoded.channels[1] ?? zeros, sent.channels[1] ?? zeros, start, 1, -1);
            break;
          case 'sideSent':
            load(first, sent.channels[0], sent.channels[1], start, Math.SQRT1_2, -Math.SQRT1_2);
            second.fill(0);
            break;
          case 'sideDecoded':
            load(first, decoded.channels[0], decoded.channels[1], start, Math.SQRT1_2, -Math.SQRT1_2);
            second.fill(0);
        }
        spectrum.add(this.#first, this.#second);
      }
  }

  finish(): { noise: CodingNoise; bandwidth: Bandwidth; stereo: StereoDamage | null } {
    const power = new Map([...this.#spectra].map(([part, spectrum]) => [part, oneSided(spectrum.raw())]));
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
      correlationBefore: correlation(this.#products.sent),
      correlationAfter: correlation(this.#products.decoded),
      sideChangeDb:
        side > leastSide * sum(of('sent'))
          ? powerToDb(Math.max(sum(of('sideDecoded')), side * 1e-6) / side)
          : null,
      worstBand: changes.sort((a, b) => Math.abs(b.sideChangeDb) - Math.abs(a.sideChangeDb)).at(0) ?? null,
    };
  }
}

/** target = a * own + b * other from frame `start` on; silence outside. */
function load(
  target: Float32Array,
  own: Float32Array,
  other: Float32Array,
  start: number,
  a: number,
  b: number,
): void {
  const inside = start >= 0 && start + frameSize <= own.length;
  if (inside && b === 0) {
    target.set(own.subarray(start, start + frameSize));
    return;
  }
  for (let i = 0; i < frameSize; i++) {
    const n = start + i;
    target[i] = n < 0 || n >= own.length ? 0 : a * own[n] + (b === 0 ? 0 : b * other[n]);
  }
}

/** Adds the sums of l*l, r*r and l*r. */
function addProducts([left, right]: readonly Float32Array[], sums: number[]): void {
  let [ll, rr, lr] = [0, 0, 0];
  for (let i = 0; i < left.length; i++) {
    ll += left[i] * left[i];
    rr += right[i] * right[i];
    lr += left[i] * right[i];
  }
  sums[0] += ll;
  sums[1] += rr;
  sums[2] += lr;
}

function correlation([ll, rr, lr]: readonly number[]): number | null {
  return ll > 0 && rr > 0 ? Math.max(-1, Math.min(1, lr / Math.sqrt(ll * rr))) : null;
}

function ratioDb(noise: number, sound: number): number | null {
  // A noise of nothing is told as the least there can be, not as an infinity.
  return sound > 0 ? powerToDb(Math.max(noise / sound, 1e-15)) : null;
}

function sum(values: Float64Array): number {
  return values.reduce((total, value) => total + value, 0);
}
