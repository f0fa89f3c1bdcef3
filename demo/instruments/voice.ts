import { equalise } from '../mixing/equaliser.ts';
import { bell, randomFrom } from '../random.ts';
import { hertz, type PlayedNote } from '../score.ts';
import { type Mouth, syllable } from './vowels.ts';

/** Who sings. */
export interface Singer {
  /** Length of the mouth against a grown man's: about 0.85 for women; resonances go up as it goes down. */
  readonly tract: number;
  /** 0..1 */
  readonly breath: number;
  /** Semitones to each side, once it has set in. */
  readonly vibrato: number;
  readonly vibratoHz: number;
  /** Semitones from below at the start of a phrase. */
  readonly scoop: number;
}

const hop = 32;

/** One control step of the voice; what lies between is drawn straight. */
interface Plan {
  readonly hz: Float32Array;
  readonly level: Float32Array;
  readonly effort: Float32Array;
  readonly mouths: Mouth[];
}

/** Where a note's consonant begins: a little early, so that the vowel falls on the beat. */
function planVoice(
  notes: readonly PlayedNote[],
  frames: number,
  rate: number,
  singer: Singer,
  seed: string,
): Plan {
  const random = randomFrom(`${seed} plan`);
  const count = Math.ceil(frames / hop) + 1;
  const plan: Plan = {
    hz: new Float32Array(count),
    level: new Float32Array(count),
    effort: new Float32Array(count),
    mouths: [],
  };
  const silentMouth = syllable('a')!.vowel;
  let [index, pitch, level, effort, drift, vibratoPhase, vowel] = [
    0,
    notes[0]?.pitch ?? 60,
    0,
    0.5,
    0,
    0,
    silentMouth,
  ];
  let mouth: Mouth = vowel;
  let sungSince = 0;
  const stepSeconds = hop / rate;
  const towards = (tau: number) => 1 - Math.exp(-stepSeconds / tau);
  for (let s = 0; s < count; s++) {
    const t = s * stepSeconds;
    while (index + 1 < notes.length && t >= notes[index + 1].atSeconds - early(notes[index + 1])) index++;
    const note = notes[index];
    let target = 0;
    let shape: Mouth = mouth;
    if (note && t >= note.atSeconds - early(note) && t < note.atSeconds + note.seconds) {
      const word = syllable(note.word);
      if (word) vowel = word.vowel;
      const closed = word?.consonant && t < note.atSeconds ? word.consonant : null;
      const fresh = level < 0.02;
      if (fresh) {
        pitch = note.pitch - singer.scoop;
        sungSince = t;
      }
      if (t < note.atSeconds + stepSeconds && !fresh && word?.consonant) sungSince = t;
      pitch += towards(fresh ? 0.05 : 0.032) * (note.pitch - pitch);
      target = (0.35 + 0.65 * note.velocity) * (closed ? closed.voice : 1);
      // A long note swells a little and lets go.
      const through = (t - note.atSeconds) / note.seconds;
      if (!closed) target *= 0.86 + 0.2 * Math.sin(Math.PI * Math.min(1, Math.max(0, through)) ** 0.7);
      effort += towards(0.06) * (note.velocity - effort);
      shape = closed?.shape ?? vowel;
    }
    level += towards(target > level ? 0.022 : 0.045) * (target - level);
    drift = 0.995 * drift + 0.004 * bell(random);
    vibratoPhase += 2 * Math.PI * stepSeconds * singer.vibratoHz * (1 + 0.06 * bell(random));
    const settled = Math.min(1, Math.max(0, (t - sungSince - 0.22) / 0.4));
    const long = note && note.seconds > 0.45 ? 1 : 0.35;
    plan.hz[s] = hertz(pitch + drift + singer.vibrato * settled * long * Math.sin(vibratoPhase));
    plan.level[s] = target === 0 && level < 1e-4 ? 0 : level;
    plan.effort[s] = effort;
    mouth = blend(mouth, shape, towards(0.022));
    plan.mouths.push(mouth);
  }
  return plan;
}

function early(note: PlayedNote): number {
  return syllable(note.word)?.consonant?.closedSeconds ?? 0.01;
}

function blend(a: Mouth, b: Mouth, share: number): Mouth {
  if (a === b) return a;
  const mix = (x: Mouth['hz'], y: Mouth['hz']) =>
    x.map((v, i) => v + share * (y[i] - v)) as unknown as Mouth['hz'];
  return {
    hz: mix(a.hz, b.hz),
    widthHz: mix(a.widthHz, b.widthHz),
    level: a.level + share * (b.level - a.level),
  };
}

const tableSize = 2048;
const tables = new Map<string, Float32Array>();

/** One turn of the vocal folds with `harmonics` harmonics falling by k^-tilt; kept, since all singers share the folds. */
function foldTable(harmonics: number, tilt: number): Float32Array {
  const key = `${harmonics} ${tilt}`;
  let table = tables.get(key);
  if (!table) {
    table = new Float32Array(tableSize + 1);
    for (let k = 1; k <= harmonics; k++) {
      const level = 0.4 / k ** tilt;
      for (let i = 0; i <= tableSize; i++)
        table[i] += level * Math.sin((2 * Math.PI * k * i) / tableSize + 0.35 * k ** 0.3);
    }
    tables.set(key, table);
  }
  return table;
}

/**
 * A sung voice without words: vocal folds (band-limited table, softer or brighter with effort) and breath through five
 * resonances in cascade (after Klatt, 1980) that follow the vowels; consonants close the mouth or hiss. Mono.
 */
export function voice(
  notes: readonly PlayedNote[],
  frames: number,
  rate: number,
  singer: Singer,
  seed: string,
): Float32Array {
  const random = randomFrom(seed);
  const plan = planVoice(notes, frames, rate, singer, seed);
  const out = new Float32Array(frames);
  const [b, c, gain] = [new Float64Array(5), new Float64Array(5), new Float64Array(5)];
  const [y1, y2] = [new Float64Array(5), new Float64Array(5)];
  let phase = 0;
  let quiet = true;
  for (let s = 0; s * hop < frames; s++) {
    const [level0, level1] = [plan.level[s], plan.level[s + 1]];
    if (level0 === 0 && level1 === 0 && quiet) continue;
    const [hz0, hz1] = [plan.hz[s], plan.hz[s + 1]];
    const mouth = plan.mouths[s];
    for (let f = 0; f < 5; f++) {
      // Singers open the mouth so that its first resonance is never below the note.
      const hz = f === 0 ? Math.max(mouth.hz[0] / singer.tract, 1.02 * hz0) : mouth.hz[f] / singer.tract;
      c[f] = -Math.exp((-2 * Math.PI * mouth.widthHz[f]) / rate);
      b[f] = 2 * Math.exp((-Math.PI * mouth.widthHz[f]) / rate) * Math.cos((2 * Math.PI * hz) / rate);
      gain[f] = 1 - b[f] - c[f];
    }
    const harmonics = Math.max(4, 2 ** Math.floor(Math.log2(Math.min(0.42 * rate, 15000) / hz0)));
    const soft = foldTable(harmonics, 1.75);
    const hard = foldTable(harmonics, 1.05);
    const effort = plan.effort[s];
    const end = Math.min(frames, (s + 1) * hop);
    for (let i = s * hop; i < end; i++) {
      const share = (i - s * hop) / hop;
      phase += (hz0 + share * (hz1 - hz0)) / rate;
      if (phase >= 1) phase -= 1;
      const at = phase * tableSize;
      const cell = at | 0;
      const part = at - cell;
      const softWave = soft[cell] + part * (soft[cell + 1] - soft[cell]);
      const hardWave = hard[cell] + part * (hard[cell + 1] - hard[cell]);
      const level = (level0 + share * (level1 - level0)) * mouth.level;
      // Breath comes mostly while the folds are open: half of each turn.
      const air = singer.breath * (2 * random() - 1) * (phase < 0.5 ? 0.14 : 0.05);
      let x = level * ((1 - effort) * softWave + effort * hardWave + air);
      for (let f = 0; f < 5; f++) {
        const y = gain[f] * x + b[f] * y1[f] + c[f] * y2[f];
        y2[f] = y1[f];
        y1[f] = y;
        x = y;
      }
      out[i] = x;
    }
    quiet = level1 === 0 && Math.abs(y1[0]) + Math.abs(y1[4]) < 1e-7;
    if (quiet) for (let f = 0; f < 5; f++) y1[f] = y2[f] = 0;
  }
  // A close microphone, and a singer who turns a little from it: less of the lowest resonance.
  equalise(out, rate, [
    { kind: 'lowcut', hz: 85 },
    { kind: 'bell', hz: 650, db: -3, q: 0.6 },
  ]);
  addHisses(out, notes, rate, random);
  return out;
}

/** The noise of s, t, k, h and the rest, each around its own centre. */
function addHisses(
  out: Float32Array,
  notes: readonly PlayedNote[],
  rate: number,
  random: () => number,
): void {
  for (const note of notes) {
    const hiss = syllable(note.word)?.consonant?.hiss;
    if (!hiss) continue;
    const length = Math.round((hiss.seconds + 0.02) * rate);
    const noise = new Float32Array(length);
    for (let i = 0; i < length; i++)
      noise[i] =
        0.3 * hiss.level * note.velocity * Math.sin((Math.PI * i) / length) ** 1.5 * (2 * random() - 1);
    equalise(noise, rate, [
      { kind: 'lowcut', hz: 0.7 * hiss.hz, q: 1 },
      { kind: 'highcut', hz: Math.min(1.7 * hiss.hz, 15000) },
    ]);
    const start = Math.round((note.atSeconds - hiss.seconds) * rate);
    for (let i = 0; i < length; i++) if (start + i >= 0 && start + i < out.length) out[start + i] += noise[i];
  }
}
