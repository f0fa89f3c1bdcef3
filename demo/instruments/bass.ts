import { equalise } from '../mixing/equaliser.ts';
import { randomFrom } from '../random.ts';
import { hertz, type PlayedNote } from '../score.ts';
import { pluck } from './string.ts';

/** Electric bass (fingers, or a plectrum with `bright` near 1) or, with `wood`, an upright. Mono. */
export function bassGuitar(
  notes: readonly PlayedNote[],
  frames: number,
  rate: number,
  seed: string,
  { bright = 0.45, wood = false } = {},
): Float32Array {
  const random = randomFrom(seed);
  const out = new Float32Array(frames);
  for (const note of notes)
    pluck(
      out,
      Math.round(note.atSeconds * rate),
      rate,
      {
        hz: hertz(note.pitch),
        velocity: note.velocity,
        seconds: note.seconds,
        ringSeconds: (wood ? 2.2 : 5) * 2 ** ((36 - note.pitch) / 30),
        stopSeconds: 0.09,
        bright: bright * (0.85 + 0.3 * random()),
        place: wood ? 0.3 : 0.21,
        loss: wood ? 0.42 : 0.3,
      },
      random,
    );
  // A pick-up or a body, then a valve stage that thickens what is loud.
  equalise(out, rate, [
    { kind: 'lowcut', hz: 34 },
    { kind: 'lowshelf', hz: 110, db: wood ? 5 : 6 },
    { kind: 'bell', hz: 320, db: -2, q: 0.9 },
    { kind: 'bell', hz: 900, db: wood ? -2 : 2.5, q: 0.8 },
    { kind: 'highcut', hz: wood ? 2600 : 4200 },
  ]);
  for (let i = 0; i < frames; i++) out[i] = Math.tanh(2.2 * out[i]) / 2.2;
  return equalise(out, rate, [{ kind: 'lowcut', hz: 30 }]);
}

/** A round synthesised bass: sine with a few harmonics that open with velocity and close with time. Mono. */
export function synthBass(
  notes: readonly PlayedNote[],
  frames: number,
  rate: number,
  { growl = 0.5 } = {},
): Float32Array {
  const out = new Float32Array(frames);
  for (const note of notes) {
    const start = Math.round(note.atSeconds * rate);
    const release = Math.round(0.05 * rate);
    const stop = Math.min(frames, start + Math.round(note.seconds * rate));
    const end = Math.min(frames, stop + release);
    const w = (2 * Math.PI * hertz(note.pitch)) / rate;
    let phase = 0;
    for (let i = start; i < end; i++) {
      const t = (i - start) / rate;
      const edge = Math.min(1, t / 0.004) * (i < stop ? 1 : (end - i) / release);
      const open = growl * note.velocity * Math.exp(-t / 0.22);
      phase += w;
      const x =
        Math.sin(phase) + (0.18 + 0.5 * open) * Math.sin(2 * phase) + open * 0.6 * Math.sin(3 * phase + 0.4);
      out[i] += edge * note.velocity * 0.4 * Math.tanh((1.1 + 1.6 * open) * x);
    }
  }
  return equalise(out, rate, [{ kind: 'lowcut', hz: 28 }]);
}
