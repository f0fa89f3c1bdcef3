import { equalise } from '../mixing/equaliser.ts';
import type { Random } from '../random.ts';
import { type Mode, ramp, ring } from './resonance.ts';

/** What a kit is made of; each song tunes its own. */
export interface KitTuning {
  readonly kickHz: number;
  readonly kickSeconds: number;
  /** 0..1: soft felt to hard plastic. */
  readonly beater: number;
  readonly snareHz: number;
  readonly snareSeconds: number;
  /** 0..1: how much of the snare is wires. */
  readonly wires: number;
  readonly tomHz: readonly [number, number, number];
  /** 0..1: dark to bright cymbals. */
  readonly cymbals: number;
}

export const roomKit: KitTuning = {
  kickHz: 54,
  kickSeconds: 0.3,
  beater: 0.5,
  snareHz: 186,
  snareSeconds: 0.2,
  wires: 0.6,
  tomHz: [98, 132, 176],
  cymbals: 0.5,
};

/** Decaying noise added to `out`; `seconds` to fall by 60 dB. */
function burst(out: Float32Array, rate: number, level: number, seconds: number, random: Random): void {
  const fall = 10 ** (-3 / (seconds * rate));
  let gain = level;
  for (let i = 0; i < out.length; i++) {
    out[i] += gain * (2 * random() - 1);
    gain *= fall;
  }
}

/** A sine that falls from `fromHz` to `hz`: the skin is tighter while it is stretched by the blow. */
function skin(
  out: Float32Array,
  rate: number,
  {
    hz,
    fromHz,
    bendSeconds,
    level,
    seconds,
  }: {
    hz: number;
    fromHz: number;
    bendSeconds: number;
    level: number;
    seconds: number;
  },
): void {
  const bend = Math.exp(-1 / (bendSeconds * rate));
  const fall = 10 ** (-3 / (seconds * rate));
  let [extra, gain, phase] = [fromHz - hz, level, 0];
  for (let i = 0; i < out.length; i++) {
    phase += (2 * Math.PI * (hz + extra)) / rate;
    out[i] += gain * Math.sin(phase);
    extra *= bend;
    gain *= fall;
  }
}

function ended(out: Float32Array, rate: number): Float32Array {
  ramp(out, out.length - Math.round(0.02 * rate), out.length, 1, 0);
  return out;
}

function kick(rate: number, v: number, kit: KitTuning, random: Random): Float32Array {
  const out = new Float32Array(Math.round((kit.kickSeconds * 2 + 0.1) * rate));
  skin(out, rate, {
    hz: kit.kickHz,
    fromHz: kit.kickHz * (2.6 + v),
    bendSeconds: 0.016,
    level: 0.9,
    seconds: kit.kickSeconds * 1.6,
  });
  const click = new Float32Array(Math.round(0.05 * rate));
  burst(click, rate, (0.25 + 0.8 * kit.beater) * v, 0.022, random);
  equalise(click, rate, [
    { kind: 'bell', hz: 3200, db: 6, q: 1 },
    { kind: 'highcut', hz: 3000 + 6000 * kit.beater },
    { kind: 'lowcut', hz: 400 },
  ]);
  for (let i = 0; i < click.length; i++) out[i] += click[i];
  for (let i = 0; i < out.length; i++) out[i] = Math.tanh(1.3 * out[i]) / 1.3;
  ramp(out, 0, Math.round(0.0008 * rate), 0, 1);
  return ended(out, rate);
}

function snare(rate: number, v: number, kit: KitTuning, random: Random): Float32Array {
  const out = new Float32Array(Math.round((kit.snareSeconds * 2.2 + 0.1) * rate));
  const hz = kit.snareHz * (1 + 0.01 * (random() - 0.5));
  skin(out, rate, { hz, fromHz: hz * 1.25, bendSeconds: 0.012, level: 0.55, seconds: 0.16 });
  ring(out, 0, out.length, rate, [
    { hz: hz * 1.59, level: 0.22, decaySeconds: 0.14 },
    { hz: hz * 2.14, level: 0.12 * v, decaySeconds: 0.16 },
    { hz: hz * 2.92, level: 0.08 * v, decaySeconds: 0.12 },
    { hz: hz * 4.6, level: 0.05 * v, decaySeconds: 0.1 },
  ]);
  const wires = new Float32Array(out.length);
  burst(wires, rate, (0.35 + 0.55 * v) * kit.wires, kit.snareSeconds * (0.8 + 0.5 * v), random);
  equalise(wires, rate, [
    { kind: 'lowcut', hz: 900 },
    { kind: 'bell', hz: 2400, db: 3, q: 0.8 },
    { kind: 'bell', hz: 5600, db: 4, q: 0.8 },
    { kind: 'highshelf', hz: 9000, db: -6 + 5 * v },
  ]);
  const crack = new Float32Array(Math.round(0.02 * rate));
  burst(crack, rate, 0.5 * v, 0.012, random);
  for (let i = 0; i < out.length; i++) out[i] += wires[i] + (crack[i] ?? 0);
  ramp(out, 0, Math.round(0.0004 * rate), 0, 1);
  return ended(out, rate);
}

/** Stick laid across the snare and clicked on the rim. */
function rim(rate: number, v: number, kit: KitTuning, random: Random): Float32Array {
  const out = new Float32Array(Math.round(0.16 * rate));
  ring(out, 0, out.length, rate, [
    { hz: 1720, level: 0.5, decaySeconds: 0.05 },
    { hz: 1180, level: 0.3, decaySeconds: 0.06 },
    { hz: 3240, level: 0.25 * v, decaySeconds: 0.03 },
    { hz: kit.snareHz * 1.7, level: 0.25, decaySeconds: 0.09 },
  ]);
  burst(out, rate, 0.18 * v, 0.012, random);
  return ended(out, rate);
}

function tom(rate: number, v: number, hz: number, random: Random): Float32Array {
  const out = new Float32Array(Math.round(0.9 * rate));
  skin(out, rate, { hz, fromHz: hz * 1.5, bendSeconds: 0.03, level: 0.75, seconds: 0.6 });
  ring(out, 0, out.length, rate, [
    { hz: hz * 1.6, level: 0.2 * v, decaySeconds: 0.25 },
    { hz: hz * 2.3, level: 0.1 * v, decaySeconds: 0.15 },
  ]);
  const stick = new Float32Array(Math.round(0.03 * rate));
  burst(stick, rate, 0.4 * v, 0.015, random);
  equalise(stick, rate, [{ kind: 'highcut', hz: 5000 }]);
  for (let i = 0; i < stick.length; i++) out[i] += stick[i];
  ramp(out, 0, Math.round(0.0006 * rate), 0, 1);
  return ended(out, rate);
}

/** A plate of metal: many partials that do not belong together, the upper ones louder in brighter metal, and a wash of noise. */
function plate(
  rate: number,
  v: number,
  random: Random,
  {
    lowHz,
    partials,
    seconds,
    wash,
    washSeconds,
    bright,
  }: {
    lowHz: number;
    partials: number;
    seconds: number;
    wash: number;
    washSeconds: number;
    bright: number;
  },
): Float32Array {
  const out = new Float32Array(Math.round(seconds * 1.15 * rate));
  burst(out, rate, wash * (0.4 + 0.6 * v), washSeconds, random);
  equalise(out, rate, [
    { kind: 'lowcut', hz: Math.max(3000, 4 * lowHz) },
    { kind: 'highshelf', hz: 10000, db: -9 + 6 * bright },
  ]);
  const modes: Mode[] = [];
  for (let k = 0; k < partials; k++) {
    const place = (k + random()) / partials;
    const hz = lowHz * (17000 / lowHz) ** place;
    const level =
      (0.16 / Math.sqrt(partials)) * (0.5 + random()) * (1.2 - place * (1 - bright)) * (0.5 + 0.5 * v);
    modes.push({ hz, level, decaySeconds: seconds * (1 - 0.6 * place), phase: 2 * Math.PI * random() });
  }
  ring(out, 0, out.length, rate, modes);
  ramp(out, 0, Math.round(0.0008 * rate), 0, 1);
  return ended(out, rate);
}

function shaken(rate: number, v: number, random: Random, seconds: number, hz: number): Float32Array {
  const out = new Float32Array(Math.round(seconds * rate));
  for (let i = 0; i < out.length; i++) {
    const x = i / out.length;
    out[i] = v * Math.sin(Math.PI * x ** 0.6) ** 2 * (2 * random() - 1) * 0.5;
  }
  equalise(out, rate, [
    { kind: 'lowcut', hz, q: 1 },
    { kind: 'lowcut', hz: hz * 0.8 },
  ]);
  return ended(out, rate);
}

function clap(rate: number, v: number, random: Random): Float32Array {
  const out = new Float32Array(Math.round(0.4 * rate));
  for (const at of [0, 0.011, 0.023, 0.031]) {
    const hand = new Float32Array(out.length - Math.round(at * rate));
    burst(hand, rate, 0.4 * v, at === 0.031 ? 0.22 : 0.03, random);
    for (let i = 0; i < hand.length; i++) out[i + Math.round(at * rate)] += hand[i];
  }
  equalise(out, rate, [
    { kind: 'lowcut', hz: 700 },
    { kind: 'bell', hz: 1300, db: 5, q: 1.2 },
    { kind: 'highcut', hz: 11000 },
  ]);
  return ended(out, rate);
}

/** A brush swept over the head, no blow. */
function sweep(rate: number, v: number, random: Random): Float32Array {
  const out = new Float32Array(Math.round(0.34 * rate));
  for (let i = 0; i < out.length; i++)
    out[i] = 0.3 * v * Math.sin((Math.PI * i) / out.length) ** 2 * (2 * random() - 1);
  equalise(out, rate, [
    { kind: 'lowcut', hz: 1200 },
    { kind: 'highcut', hz: 9000 },
  ]);
  return ended(out, rate);
}

/** One blow. `word` names the piece as in the drummer's grooves. Deterministic by the state of `random`. */
export function blow(word: string, rate: number, v: number, kit: KitTuning, random: Random): Float32Array {
  const bright = kit.cymbals;
  switch (word) {
    case 'kick':
      return kick(rate, v, kit, random);
    case 'snare':
      return snare(rate, v, kit, random);
    case 'rim':
      return rim(rate, v, kit, random);
    case 'tom1':
    case 'tom2':
    case 'tom3':
      return tom(rate, v, kit.tomHz[3 - Number(word[3])], random);
    case 'hat':
      return plate(rate, v, random, {
        lowHz: 3100,
        partials: 40,
        seconds: 0.11,
        wash: 0.5,
        washSeconds: 0.07 + 0.05 * v,
        bright,
      });
    case 'open':
      return plate(rate, v, random, {
        lowHz: 2900,
        partials: 50,
        seconds: 0.9,
        wash: 0.5,
        washSeconds: 0.6,
        bright,
      });
    case 'ride':
      return plate(rate, v, random, {
        lowHz: 620,
        partials: 46,
        seconds: 2.2,
        wash: 0.28,
        washSeconds: 0.35,
        bright,
      });
    case 'crash':
      return plate(rate, v, random, {
        lowHz: 480,
        partials: 70,
        seconds: 3,
        wash: 0.7,
        washSeconds: 1.5,
        bright,
      });
    case 'shaker':
      return shaken(rate, v, random, 0.11, 5200);
    case 'tamb': {
      const out = plate(rate, v, random, {
        lowHz: 5200,
        partials: 30,
        seconds: 0.28,
        wash: 0.4,
        washSeconds: 0.1,
        bright: 1,
      });
      return out;
    }
    case 'clap':
      return clap(rate, v, random);
    case 'sweep':
      return sweep(rate, v, random);
    default:
      throw new RangeError(`no drum of the name '${word}'`);
  }
}
