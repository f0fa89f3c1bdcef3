import type { Pcm } from '../audio/pcm.ts';
import { kaiser, sinc } from '../signal/interpolation.ts';

/**
 * Anchors of ITU-R BS.1534-3: the reference through a low-pass of 3.5 kHz (low) and 7 kHz (mid). Of the low one it asks for
 * at most +-0.1 dB of ripple in the passband, 25 dB down at 4 kHz and 50 dB at 4.5 kHz (from memory); the mid one is the
 * same an octave higher.
 */
const passHz = { low: 3500, mid: 7000 } as const;
/** The middle of the slope above the passband, and its width, in terms of the passband: down well before 8/7. */
const slopeMiddle = 1.07;
const slopeWidth = 0.11;
/** Kaiser's beta for about 70 dB (Kaiser 1974, from memory). */
const beta = 6.76;

/** The anchor of a reference: same length, no delay. Sounds of less than 16 kHz sample rate have no room for the mid one. */
export function anchorOf(reference: Pcm, which: keyof typeof passHz): Pcm {
  const { sampleRate } = reference;
  const edge = passHz[which];
  if (edge * (slopeMiddle + slopeWidth) > sampleRate / 2)
    throw new RangeError(`an anchor of ${edge} Hz needs a higher sample rate than ${sampleRate} Hz`);
  // Kaiser's estimate: taps = (A - 8) / (2.285 times the slope in radians a sample).
  const half = Math.ceil((70 - 8) / (2.285 * 2 * Math.PI * ((edge * slopeWidth) / sampleRate)) / 2);
  const cutoff = (2 * edge * slopeMiddle) / sampleRate;
  const taps = Float64Array.from(
    { length: 2 * half + 1 },
    (_, k) => sinc((k - half) * cutoff) * kaiser((k - half) / half, beta),
  );
  const sum = taps.reduce((total, tap) => total + tap, 0);
  const channels = reference.channels.map((samples) => {
    const output = new Float32Array(samples.length);
    for (let n = 0; n < samples.length; n++) {
      let value = 0;
      const first = Math.max(0, half - n);
      const last = Math.min(taps.length, samples.length + half - n);
      for (let k = first; k < last; k++) value += taps[k] * samples[n + k - half];
      output[n] = value / sum;
    }
    return output;
  });
  return { sampleRate, channels };
}
