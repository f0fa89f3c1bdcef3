import { viewOf } from './byte-source.ts';

/**
 * Everything of an AIFF file (Apple, 'Audio Interchange File Format' 1.3) before its big-endian samples. An odd number of
 * data bytes wants one zero byte after them. Throws RangeError over 4 GiB, which the form cannot hold.
 */
export function aiffHeader(
  sampleRate: number,
  channels: number,
  frames: number,
  bits: 16 | 24,
): Uint8Array<ArrayBuffer> {
  const dataBytes = (frames * channels * bits) / 8;
  const formBytes = 4 + 8 + 18 + 8 + 8 + dataBytes + (dataBytes % 2);
  if (formBytes > 0xffffffff) throw new RangeError('an AIFF file holds at most 4 GiB');
  const bytes = new Uint8Array(54);
  const view = viewOf(bytes);
  const text = (at: number, word: string) => {
    for (let i = 0; i < 4; i++) bytes[at + i] = word.charCodeAt(i);
  };
  text(0, 'FORM');
  view.setUint32(4, formBytes);
  text(8, 'AIFF');
  text(12, 'COMM');
  view.setUint32(16, 18);
  view.setUint16(20, channels);
  view.setUint32(22, frames);
  view.setUint16(26, bits);
  // 80-bit extended: exponent biased by 16383, then the whole number shifted to the top of 64 bits.
  const exponent = Math.floor(Math.log2(sampleRate));
  view.setUint16(28, 16383 + exponent);
  view.setBigUint64(30, BigInt(sampleRate) << BigInt(63 - exponent));
  text(38, 'SSND');
  view.setUint32(42, 8 + dataBytes);
  return bytes;
}

/** Turns the bytes of each sample round, in place: little-endian to big-endian. */
export function turnSamples(bytes: Uint8Array, bytesPerSample: 2 | 3): void {
  for (let at = 0; at + bytesPerSample <= bytes.length; at += bytesPerSample) {
    const first = bytes[at];
    bytes[at] = bytes[at + bytesPerSample - 1];
    bytes[at + bytesPerSample - 1] = first;
  }
}
