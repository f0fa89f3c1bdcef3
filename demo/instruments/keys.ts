import { equalise } from '../mixing/equaliser.ts';
import { addInto, panned, type Stereo, silence } from '../mixing/stereo.ts';
import { randomFrom } from '../random.ts';
import { hertz, type PlayedNote } from '../score.ts';
import { type Mode, ramp, ring } from './resonance.ts';

/** Spreads a keyboard a little from left (low) to right (high), as the player hears it. */
function place(out: Stereo, note: Float32Array, start: number, pitch: number, width: number): void {
  const seat = panned(note, Math.max(-1, Math.min(1, ((pitch - 62) / 26) * width)));
  addInto(out.left.subarray(start), seat.left);
  addInto(out.right.subarray(start), seat.right);
}

/**
 * A piano of stretched partials, three decay rates, and a hammer. `felt` 0..1 puts felt between hammer and string.
 */
export function piano(
  notes: readonly PlayedNote[],
  frames: number,
  rate: number,
  seed: string,
  { felt = 0.3, width = 0.5, pedal = 0.25 } = {},
): Stereo {
  const random = randomFrom(seed);
  const out = silence(frames);
  for (const note of notes) {
    const start = Math.round(note.atSeconds * rate);
    const hz = hertz(note.pitch);
    const ringing = 9 * 2 ** ((48 - note.pitch) / 18);
    const length = Math.min(frames - start, Math.round((note.seconds + pedal + 0.35) * rate));
    if (length <= 0) continue;
    const sound = new Float32Array(length);
    const stretch = 0.00012 * 2 ** ((note.pitch - 48) / 9);
    const tilt = 1.0 + 1.1 * felt + 0.9 * (1 - note.velocity);
    const modes: Mode[] = [];
    for (let k = 1; k <= 22; k++) {
      const partial = k * hz * Math.sqrt(1 + stretch * k * k);
      if (partial > 11000) break;
      // The hammer strikes at an eighth of the string: partials with a node there are weak.
      const strike = 0.25 + Math.abs(Math.sin((Math.PI * k) / 8.3));
      const level = (strike * 0.16 * note.velocity ** 1.4) / k ** tilt;
      const decaySeconds = ringing / (1 + 0.35 * k);
      const phase = 2 * Math.PI * random();
      // Two strings a hair apart: the second rings on more softly (the after-sound).
      modes.push({ hz: partial * 0.9998, level: 0.7 * level, decaySeconds: 0.45 * decaySeconds, phase });
      modes.push({ hz: partial * 1.0003, level: 0.45 * level, decaySeconds, phase: phase + 0.7 });
    }
    ring(sound, 0, length, rate, modes);
    const knock = Math.round(0.03 * rate);
    let low = 0;
    for (let i = 0; i < Math.min(knock, length); i++) {
      low += (0.25 - 0.15 * felt) * (2 * random() - 1 - low);
      sound[i] += 0.05 * note.velocity * low * Math.exp((-6 * i) / knock);
    }
    ramp(sound, 0, Math.round(0.0015 * rate * (1 + 3 * felt)), 0, 1);
    const damper = Math.round((note.seconds + pedal) * rate);
    fall(sound, damper, rate, 0.11);
    place(out, sound, start, note.pitch, width);
  }
  return out;
}

/** Exponential damping from `from` on, down to nothing at the end. */
function fall(sound: Float32Array, from: number, rate: number, seconds: number): void {
  const each = 10 ** (-3 / (2.2 * seconds * rate));
  let gain = 1;
  for (let i = Math.max(0, from); i < sound.length; i++) {
    gain *= each;
    sound[i] *= gain;
  }
  ramp(sound, sound.length - Math.round(0.01 * rate), sound.length, 1, 0);
}

/** Electric piano: a struck tine before a pick-up, as phase modulation (carrier and modulator in unison, and the tine's ping). */
export function electricPiano(
  notes: readonly PlayedNote[],
  frames: number,
  rate: number,
  { tremoloHz = 4.6, tremolo = 0.25 } = {},
): Stereo {
  const mono = new Float32Array(frames);
  for (const note of notes) {
    const start = Math.round(note.atSeconds * rate);
    const hz = hertz(note.pitch);
    const w = (2 * Math.PI * hz) / rate;
    const length = Math.min(frames - start, Math.round((note.seconds + 0.25) * rate));
    const stop = Math.round(note.seconds * rate);
    const decay = 10 ** (-3 / (rate * 5.5 * 2 ** ((54 - note.pitch) / 20)));
    const indexDecay = Math.exp(-1 / (rate * 0.35));
    let level = 0.3 * note.velocity ** 1.2;
    let index = 0.35 + 1.5 * note.velocity ** 2;
    const release = Math.exp(-1 / (rate * 0.05));
    for (let i = 0; i < length; i++) {
      const phase = w * i;
      const edge = Math.min(1, i / (0.0015 * rate)) * Math.min(1, (length - i) / (0.01 * rate));
      mono[start + i] += edge * level * Math.sin(phase + index * Math.sin(phase + 0.3));
      level *= i < stop ? decay : release;
      index = 0.3 + (index - 0.3) * indexDecay;
    }
    ring(mono, start, length, rate, [
      { hz: Math.min(7.1 * hz, 9000), level: 0.035 * note.velocity ** 2, decaySeconds: 0.35 },
    ]);
  }
  const out = silence(frames);
  for (let i = 0; i < frames; i++) {
    const sway = tremolo * Math.sin((2 * Math.PI * tremoloHz * i) / rate);
    out.left[i] = mono[i] * (0.7 + 0.7 * sway);
    out.right[i] = mono[i] * (0.7 - 0.7 * sway);
  }
  for (const side of [out.left, out.right]) equalise(side, rate, [{ kind: 'lowcut', hz: 60 }]);
  return out;
}

const drawbars = [
  { ratio: 0.5, level: 0.5 },
  { ratio: 1, level: 1 },
  { ratio: 1.5, level: 0.35 },
  { ratio: 2, level: 0.6 },
  { ratio: 3, level: 0.28 },
  { ratio: 4, level: 0.3 },
  { ratio: 6, level: 0.12 },
  { ratio: 8, level: 0.14 },
];

/** A tonewheel organ, mono; send it through `chorus` for a turning loudspeaker. */
export function organ(notes: readonly PlayedNote[], frames: number, rate: number): Float32Array {
  const out = new Float32Array(frames);
  for (const note of notes) {
    const start = Math.round(note.atSeconds * rate);
    const length = Math.min(frames - start, Math.round((note.seconds + 0.06) * rate));
    if (length <= 0) continue;
    const sound = new Float32Array(length);
    ring(
      sound,
      0,
      length,
      rate,
      drawbars.map(({ ratio, level }, i) => ({
        hz: ratio * hertz(note.pitch),
        level: 0.09 * level * note.velocity,
        decaySeconds: 1e4,
        phase: i * 1.1,
      })),
    );
    ramp(sound, 0, Math.round(0.012 * rate), 0, 1);
    ramp(sound, length - Math.round(0.06 * rate), length, 1, 0);
    addInto(out.subarray(start), sound);
  }
  return out;
}
