import { FLACDecoder } from '@wasm-audio-decoders/flac';
import type { CodedDecoder, DecodedPart } from './coded-decoder.ts';
import { type FlacFrame, FlacFrameCutter } from './flac-frames.ts';

/** What has to be known of a FLAC stream before it is decoded (STREAMINFO, RFC 9639 section 8.2). */
export interface FlacStreamInfo {
  /** Largest block, sample frames; the size of every block but the last in a stream of fixed blocks. */
  readonly blockFrames: number;
  readonly channels: number;
  readonly bitDepth: number;
  /** Length of the song, sample frames; null when it is not told, as in a stream, which may begin anywhere. */
  readonly frames: number | null;
}

/**
 * A FLAC decoder that gives back exactly what was coded. libFLAC (compiled to WebAssembly) decodes the frames; what
 * is done here is what the package around it does inexactly: frames are cut at their checksums wherever the pieces
 * happen to end, and integers are scaled by 2^(bits-1) where the package has 2^(bits-1)-1. Frames that are damaged
 * are replaced by silence, so that what follows keeps its place.
 */
export async function createFlacDecoder(info: FlacStreamInfo): Promise<CodedDecoder> {
  const decoder = new FLACDecoder();
  await decoder.ready;
  // Uncoded samples, one more bit a sample for a side channel, and 64 bytes a channel of headers (a safe bound).
  const longest =
    Math.ceil((info.blockFrames * info.channels * (info.bitDepth + 1)) / 8) + 64 * (info.channels + 1);
  const cutter = new FlacFrameCutter(info.blockFrames, longest);
  let position = 0;
  const decode = async (frames: readonly FlacFrame[]): Promise<DecodedPart> => {
    const parts: Float32Array[][] = [];
    let sampleRate = 0;
    let errors = 0;
    for (const frame of frames) {
      const missing = frame.position - position;
      // libFLAC remembers where it was and would complain about the gap.
      if (missing !== 0) await decoder.reset();
      const decoded = await decoder.decodeFrames([frame.bytes]);
      if (decoded.samplesDecoded === 0 || decoded.errors.length > 0) {
        errors++;
        continue;
      }
      if (missing > 0 && frame.position < (info.frames ?? 0)) {
        errors++;
        // A damaged number may point anywhere; what cannot be a gap of real sound is not filled.
        if (missing <= maxGapBlocks * info.blockFrames)
          parts.push(decoded.channelData.map(() => new Float32Array(missing)));
      }
      position = frame.position + decoded.samplesDecoded;
      sampleRate = decoded.sampleRate;
      parts.push(decoded.channelData.map((samples) => scaleFlac(samples, decoded.bitDepth)));
    }
    return { channelData: join(parts), sampleRate, errors };
  };
  return {
    decode: (bytes) => decode(cutter.push(bytes)),
    flush: () => decode(cutter.finish()),
    free: () => decoder.free(),
  };
}

/** Longest stretch of damage that is filled with silence, blocks: about 90 s at 44.1 kHz (a limit of ours). */
const maxGapBlocks = 1000;

/**
 * The package hands out n/(2^(bits-1)-1). Up to 24 bits the integer n is found again exactly, because a 32-bit
 * float is finer than half a step; of 32-bit samples only the 24 highest bits are there, and the scale is right to them.
 */
export function scaleFlac(samples: Float32Array, bitDepth: number): Float32Array {
  const scale = 2 ** (bitDepth - 1);
  if (bitDepth > 24) return samples.slice();
  return samples.map((sample) => Math.round(sample * (scale - 1)) / scale);
}

function join(parts: readonly Float32Array[][]): Float32Array[] {
  const first = parts[0];
  if (!first) return [];
  return first.map((_, channel) => {
    const out = new Float32Array(parts.reduce((sum, part) => sum + part[0].length, 0));
    let at = 0;
    for (const part of parts) {
      out.set(part[channel], at);
      at += part[channel].length;
    }
    return out;
  });
}
