/**
 * How one sample is stored. Integers are two's complement except 'u8', which is offset by 128 (8-bit WAVE and the
 * 'raw ' type of AIFF-C). Where fewer bits are valid than stored, the valid ones are the highest (left-justified:
 * Microsoft, 'Multiple Channel Audio Data and WAVE Files'; AIFF 1.3, Sound Data Chunk), so the stored width sets the scale.
 */
export type SampleCoding = 'u8' | 's8' | 's16' | 's24' | 's32' | 'f32' | 'f64';

/** Bytes one sample takes. */
export const bytesPerSample: Readonly<Record<SampleCoding, number>> = {
  u8: 1,
  s8: 1,
  s16: 2,
  s24: 3,
  s32: 4,
  f32: 4,
  f64: 8,
};

/**
 * Interleaved samples to planar float. An n-bit integer is divided by 2^(n-1): exact up to 24 bits; 32-bit integers
 * and 64-bit floats are rounded to the nearest 32-bit float. Bytes beyond the last whole frame are left alone.
 */
export function decodeSamples(
  bytes: Uint8Array,
  coding: SampleCoding,
  channels: number,
  littleEndian: boolean,
): Float32Array[] {
  const width = bytesPerSample[coding];
  const frames = Math.floor(bytes.length / (width * channels));
  const view = new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);
  return Array.from({ length: channels }, (_, channel) => {
    const out = new Float32Array(frames);
    const step = width * channels;
    let at = channel * width;
    switch (coding) {
      case 'u8':
        for (let i = 0; i < frames; i++, at += step) out[i] = (bytes[at] - 128) / 128;
        break;
      case 's8':
        for (let i = 0; i < frames; i++, at += step) out[i] = view.getInt8(at) / 128;
        break;
      case 's16':
        for (let i = 0; i < frames; i++, at += step) out[i] = view.getInt16(at, littleEndian) / 32768;
        break;
      case 's24': {
        const low = littleEndian ? 0 : 2;
        const high = 2 - low;
        for (let i = 0; i < frames; i++, at += step)
          out[i] = ((bytes[at + high] << 24) | (bytes[at + 1] << 16) | (bytes[at + low] << 8)) / 2147483648;
        break;
      }
      case 's32':
        for (let i = 0; i < frames; i++, at += step) out[i] = view.getInt32(at, littleEndian) / 2147483648;
        break;
      case 'f32':
        for (let i = 0; i < frames; i++, at += step) out[i] = view.getFloat32(at, littleEndian);
        break;
      case 'f64':
        for (let i = 0; i < frames; i++, at += step) out[i] = view.getFloat64(at, littleEndian);
        break;
    }
    return out;
  });
}

/** What the WAV writer stores. */
export type WrittenCoding = 's16' | 's24' | 's32' | 'f32';

/**
 * Frames [startFrame, endFrame) of planar float to interleaved little-endian samples. An n-bit integer is the sample
 * times 2^(n-1), rounded to the nearest (halves upwards) with no dither: whoever wants dither adds it before. Values
 * beyond full scale saturate; floats are stored as they are. A NaN becomes 0 in an integer.
 */
export function encodeSamples(
  channels: readonly Float32Array[],
  coding: WrittenCoding,
  startFrame: number,
  endFrame: number,
): Uint8Array<ArrayBuffer> {
  const width = bytesPerSample[coding];
  const step = width * channels.length;
  const bytes = new Uint8Array((endFrame - startFrame) * step);
  const view = new DataView(bytes.buffer);
  const scale = 2 ** (8 * width - 1);
  channels.forEach((samples, channel) => {
    let at = channel * width;
    for (let i = startFrame; i < endFrame; i++, at += step) {
      if (coding === 'f32') {
        view.setFloat32(at, samples[i], true);
        continue;
      }
      const level = Math.max(-scale, Math.min(scale - 1, Math.round(samples[i] * scale)));
      if (coding === 's16') view.setInt16(at, level, true);
      else if (coding === 's32') view.setInt32(at, level, true);
      else {
        bytes[at] = level;
        bytes[at + 1] = level >> 8;
        bytes[at + 2] = level >> 16;
      }
    }
  });
  return bytes;
}
