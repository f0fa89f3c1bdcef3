import { hertz, type PlayedNote } from '../score.ts';
import { ring } from './resonance.ts';

/** Struck bars: 'wood' like a marimba (partials 1 : 3.9 : 9.2), 'metal' like a vibraphone or glockenspiel, long. Mono. */
export function mallets(
  notes: readonly PlayedNote[],
  frames: number,
  rate: number,
  kind: 'wood' | 'metal',
): Float32Array {
  const out = new Float32Array(frames);
  const long = kind === 'wood' ? 0.7 : 3.2;
  for (const note of notes) {
    const hz = hertz(note.pitch);
    const v = note.velocity ** 1.3;
    ring(out, Math.round(note.atSeconds * rate), Math.round(4 * rate), rate, [
      { hz, level: 0.3 * v, decaySeconds: long * 2 ** ((66 - note.pitch) / 24) },
      { hz: hz * (kind === 'wood' ? 3.93 : 4.0), level: 0.09 * v * note.velocity, decaySeconds: 0.3 * long },
      { hz: hz * (kind === 'wood' ? 9.2 : 10.1), level: 0.05 * v * note.velocity, decaySeconds: 0.1 * long },
      { hz: hz * 16.4, level: kind === 'wood' ? 0 : 0.02 * v, decaySeconds: 0.12 },
    ]);
  }
  return out;
}
