import { type Stereo, silence } from '../mixing/stereo.ts';
import { randomFrom } from '../random.ts';
import { hertz, type PlayedNote } from '../score.ts';

export interface PadVoice {
  readonly attackSeconds: number;
  readonly releaseSeconds: number;
  /** Cut-off of the low-pass, Hz, at the start and once open; velocity opens it further. */
  readonly fromHz: number;
  readonly toHz: number;
  readonly openSeconds: number;
  /** Spread of the three oscillators a side, semitones. */
  readonly spread: number;
}

export const bowed: PadVoice = {
  attackSeconds: 0.45,
  releaseSeconds: 0.6,
  fromHz: 900,
  toHz: 2600,
  openSeconds: 0.6,
  spread: 0.09,
};

export const pluckedSynth: PadVoice = {
  attackSeconds: 0.003,
  releaseSeconds: 0.12,
  fromHz: 5200,
  toHz: 700,
  openSeconds: 0.16,
  spread: 0.12,
};

/** Correction of a falling saw-tooth's step, so that it does not fold back (polynomial band-limited step). */
function blep(phase: number, step: number): number {
  if (phase < step) {
    const t = phase / step;
    return t + t - t * t - 1;
  }
  if (phase > 1 - step) {
    const t = (phase - 1) / step;
    return t * t + t + t + 1;
  }
  return 0;
}

/** Saw-tooth strings or synthesiser: three detuned oscillators a side through a moving low-pass (state-variable). */
export function pad(
  notes: readonly PlayedNote[],
  frames: number,
  rate: number,
  seed: string,
  voice: PadVoice,
): Stereo {
  const random = randomFrom(seed);
  const out = silence(frames);
  for (const note of notes) {
    const start = Math.round(note.atSeconds * rate);
    const stop = Math.round(note.seconds * rate);
    const release = Math.round(voice.releaseSeconds * rate);
    const length = Math.min(frames - start, stop + release);
    const open = 0.6 + 0.8 * note.velocity;
    for (const side of [out.left, out.right]) {
      const phase = [random(), random(), random()];
      const step = [-1, 0.15, 0.9].map(
        (d) => hertz(note.pitch + voice.spread * (d + 0.3 * (random() - 0.5))) / rate,
      );
      let [low, band, g] = [0, 0, 0];
      for (let i = 0; i < length; i++) {
        let x = 0;
        for (let k = 0; k < 3; k++) {
          const p = phase[k];
          x += 1 - 2 * p + blep(p, step[k]);
          const next = p + step[k];
          phase[k] = next >= 1 ? next - 1 : next;
        }
        if ((i & 31) === 0) {
          const t = i / rate;
          const hz = voice.toHz + (voice.fromHz - voice.toHz) * Math.exp(-t / voice.openSeconds);
          g = Math.tan((Math.PI * Math.min(open * hz, 0.3 * rate)) / rate);
        }
        // Trapezoidal state-variable low-pass, Q = 0.8.
        const high = (x - (1.25 + g) * band - low) / (1 + g * (1.25 + g));
        const b = band + g * high;
        const l = low + g * b;
        band = b + g * high;
        low = l + g * b;
        const rise = Math.min(1, i / (voice.attackSeconds * rate));
        const fall = i < stop ? 1 : Math.max(0, (stop + release - i) / release);
        side[start + i] += 0.05 * note.velocity * rise * rise * (3 - 2 * rise) * fall * fall * l;
      }
    }
  }
  return out;
}
