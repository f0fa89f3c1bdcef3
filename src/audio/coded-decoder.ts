import { decoder as aacDecoder } from '@audio/decode-aac';
import { decoder as flacDecoder } from '@audio/decode-flac';
import { decoder as mp3Decoder } from '@audio/decode-mp3';
import { decoder as mp4Decoder } from '@audio/decode-mp4';
import { decoder as opusDecoder } from '@audio/decode-opus';
import { decoder as vorbisDecoder } from '@audio/decode-vorbis';
import type { SoundKind } from './sound-kind.ts';

/** Kinds of file whose sound has to be decoded. */
export type CodedKind = Exclude<SoundKind, 'wav' | 'aiff'>;

/** What a decoder gives back for some bytes; no channels when they held no whole frame. */
export interface DecodedPart {
  readonly channelData: Float32Array[];
  readonly sampleRate: number;
  /** What could not be decoded: a list or a number of faults. */
  readonly errors?: readonly unknown[] | number;
}

/** A decoder fed with bytes of a file in order. */
export interface CodedDecoder {
  decode(bytes: Uint8Array): DecodedPart | Promise<DecodedPart>;
  /** At the end of the file; what was held back. */
  flush?(): DecodedPart | Promise<DecodedPart>;
  free(): void;
}

/**
 * The decoders of audio-decode, taken one by one and not through its front: the front takes a stereo block whose
 * channels agree at every 37th sample for mono, which loses sound where only one channel begins.
 */
export const codedDecoders: Readonly<Record<CodedKind, () => Promise<CodedDecoder>>> = {
  flac: flacDecoder,
  mp3: mp3Decoder,
  adts: aacDecoder,
  mp4: mp4Decoder,
  'ogg-vorbis': vorbisDecoder,
  'ogg-opus': opusDecoder,
};
