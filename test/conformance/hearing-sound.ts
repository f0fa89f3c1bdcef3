import { zwickerRate } from '../../src/hearing/third-octave-filters.ts';
import { seeded } from '../seeded-sound.ts';

/** A sine in Pa at 48 kHz whose level goes in a straight line from one value to another, dB SPL. */
export function tone(hertz: number, fromDb: number, toDb: number, seconds: number): Float64Array {
  const frames = Math.round(seconds * zwickerRate);
  return Float64Array.from({ length: frames }, (_, n) => {
    const level = fromDb + ((toDb - fromDb) * n) / frames;
    return 2e-5 * 10 ** (level / 20) * Math.SQRT2 * Math.sin((2 * Math.PI * hertz * n) / zwickerRate);
  });
}

/**
 * Pink noise in Pa: seven first-order filters over white noise (the well-known filter of P. Kellet, -3 dB an octave to
 * within 0.05 dB above 9 Hz at 44.1 kHz; here the mean square over the whole is set).
 */
export function pinkNoise(seed: number, fromDb: number, toDb: number, seconds: number): Float64Array {
  const random = seeded(seed);
  const frames = Math.round(seconds * zwickerRate);
  const b = new Float64Array(7);
  const noise = Float64Array.from({ length: frames }, () => {
    const white = 2 * random() - 1;
    b[0] = 0.99886 * b[0] + 0.0555179 * white;
    b[1] = 0.99332 * b[1] + 0.0750759 * white;
    b[2] = 0.969 * b[2] + 0.153852 * white;
    b[3] = 0.8665 * b[3] + 0.3104856 * white;
    b[4] = 0.55 * b[4] + 0.5329522 * white;
    b[5] = -0.7616 * b[5] - 0.016898 * white;
    const pink = b[0] + b[1] + b[2] + b[3] + b[4] + b[5] + b[6] + 0.5362 * white;
    b[6] = 0.115926 * white;
    return pink;
  });
  const rms = Math.sqrt(noise.reduce((sum, x) => sum + x * x, 0) / frames);
  return noise.map((x, n) => (x / rms) * 2e-5 * 10 ** ((fromDb + ((toDb - fromDb) * n) / frames) / 20));
}

/** Pink noise as third octaves: equal levels in the 28 bands, together `level` dB. */
export function pinkLevels(level: number): number[] {
  return new Array<number>(28).fill(level - 10 * Math.log10(30));
}
