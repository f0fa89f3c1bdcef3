export interface Compression {
  /** dBFS of the smoothed level. */
  readonly thresholdDb: number;
  readonly ratio: number;
  readonly attackSeconds: number;
  readonly releaseSeconds: number;
  readonly kneeDb?: number;
}

const hop = 16;

/**
 * A feed-forward compressor on the joint level of all channels (one or two), in place; gain is set every 16 samples
 * and slides between. `driveDb` is added to the level that is watched, not to the sound.
 */
export function compress(
  channels: readonly Float32Array[],
  rate: number,
  driveDb: number,
  settings: Compression,
): void {
  const { thresholdDb, ratio, attackSeconds, releaseSeconds, kneeDb = 6 } = settings;
  const attack = 1 - Math.exp(-hop / (rate * attackSeconds));
  const release = 1 - Math.exp(-hop / (rate * releaseSeconds));
  const left = channels[0];
  const right = channels[channels.length - 1];
  let reductionDb = 0;
  let gain = 1;
  for (let start = 0; start < left.length; start += hop) {
    const end = Math.min(left.length, start + hop);
    let power = 0;
    for (let i = start; i < end; i++) power = Math.max(power, left[i] * left[i], right[i] * right[i]);
    const over = 10 * Math.log10(power + 1e-12) - thresholdDb + driveDb;
    const bent =
      over <= -kneeDb / 2 ? 0 : over >= kneeDb / 2 ? over : (over + kneeDb / 2) ** 2 / (2 * kneeDb);
    const wanted = bent * (1 - 1 / ratio);
    reductionDb += (wanted > reductionDb ? attack : release) * (wanted - reductionDb);
    const target = 10 ** (-reductionDb / 20);
    const slope = (target - gain) / hop;
    for (let i = start; i < end; i++) {
      gain += slope;
      left[i] *= gain;
      if (right !== left) right[i] *= gain;
    }
    gain = target;
  }
}
