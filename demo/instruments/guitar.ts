import { equalise } from '../mixing/equaliser.ts';
import { randomFrom } from '../random.ts';
import { hertz, type PlayedNote } from '../score.ts';
import { pluck } from './string.ts';

/** Steel or nylon strings over a wooden body. Mono. */
export function acousticGuitar(
  notes: readonly PlayedNote[],
  frames: number,
  rate: number,
  seed: string,
  { bright = 0.75, nylon = false } = {},
): Float32Array {
  const random = randomFrom(seed);
  const out = new Float32Array(frames);
  for (const note of notes) {
    const muted = note.seconds < 0.06;
    pluck(
      out,
      Math.round(note.atSeconds * rate),
      rate,
      {
        hz: hertz(note.pitch + 0.03 * (random() - 0.5)),
        velocity: note.velocity,
        seconds: note.seconds,
        ringSeconds: (nylon ? 3.2 : 4.5) * 2 ** ((52 - note.pitch) / 24),
        stopSeconds: muted ? 0.05 : 0.12,
        bright: muted ? 0.5 : bright * (0.9 + 0.2 * random()),
        place: 0.13 + 0.06 * random(),
        loss: nylon ? 0.34 : 0.16,
      },
      random,
    );
  }
  // The body: air and top-plate resonances of a usual flat-top guitar, rounded (common practice).
  return equalise(out, rate, [
    { kind: 'lowcut', hz: 75 },
    { kind: 'bell', hz: 104, db: 4, q: 4 },
    { kind: 'bell', hz: 205, db: 5, q: 3.5 },
    { kind: 'bell', hz: 410, db: 2.5, q: 3 },
    { kind: 'bell', hz: 1400, db: -3, q: 0.8 },
    { kind: 'highshelf', hz: 5500, db: nylon ? -1 : 3 },
  ]);
}

/** Solid-body guitar through an amplifier: `drive` 0 (clean) to 1 (fully driven). Mono. */
export function electricGuitar(
  notes: readonly PlayedNote[],
  frames: number,
  rate: number,
  seed: string,
  { drive = 0.3, bright = 0.8 } = {},
): Float32Array {
  const random = randomFrom(seed);
  const out = new Float32Array(frames);
  for (const note of notes) {
    const muted = note.seconds < 0.09;
    pluck(
      out,
      Math.round(note.atSeconds * rate),
      rate,
      {
        hz: hertz(note.pitch + 0.05 * (random() - 0.5)),
        velocity: note.velocity,
        seconds: note.seconds,
        ringSeconds: (muted ? 0.25 : 6) * 2 ** ((52 - note.pitch) / 30),
        stopSeconds: 0.07,
        bright,
        place: 0.17 + 0.05 * random(),
        loss: 0.2,
      },
      random,
    );
  }
  equalise(out, rate, [
    { kind: 'lowcut', hz: 95 },
    { kind: 'bell', hz: 900, db: 3, q: 0.7 },
    // Before the amplifier, so that bending the wave leaves nothing to fold back above half the rate.
    { kind: 'highcut', hz: 4200 },
  ]);
  const push = 1 + 22 * drive * drive;
  const lean = 0.15 * drive;
  const rest = Math.tanh(lean);
  for (let i = 0; i < frames; i++) {
    // A little lopsided, like valves; the offset that loud sound makes is taken away by the low cut below.
    out[i] = (Math.tanh(push * out[i] + lean) - rest) / Math.sqrt(push);
  }
  // The loudspeaker: a hump, a presence peak, and nothing much above 5 kHz.
  return equalise(out, rate, [
    { kind: 'lowcut', hz: 90 },
    { kind: 'bell', hz: 130, db: 2, q: 1 },
    { kind: 'bell', hz: 420, db: -2.5, q: 0.9 },
    { kind: 'bell', hz: 2700, db: 4, q: 0.9 },
    { kind: 'highcut', hz: 6200 },
  ]);
}
