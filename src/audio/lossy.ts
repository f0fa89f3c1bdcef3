import type { Pcm } from './pcm.ts';
import type { Run } from './run.ts';

/** Lossy codings that a song meets on its way to a listener. 'aac' is AAC-LC. */
export type LossyCodec = 'aac' | 'mp3' | 'vorbis' | 'opus' | 'sbc';

/** What an encoder is asked for. */
export interface LossyChoice {
  readonly codec: LossyCodec;
  /** Bit rate asked for, kb/s. */
  readonly nominalKbps: number;
}

/** A sound after it was really encoded and decoded. */
export interface CodedSound {
  /** Encoder and its version, as it names itself: 'Lavc59.37.100 aac', 'LAME3.100 (Lavc59.37.100)'. */
  readonly encoder: string;
  /** Settings that decide the result, as given to the encoder, with the resampling before it when there was one. */
  readonly settings: string;
  /** Size of the coded audio, bytes, without the container around it. */
  readonly codedBytes: number;
  /** What the encoder was given: the sound itself, or the sound at the rate that was coded. */
  readonly sent: Pcm;
  /**
   * What came back: same rate and channel count as `sent`, float, never clipped on the way, raw: the codec's own
   * delay is still at its start and its last frame at its end.
   */
  readonly decoded: Pcm;
}

/** A sound of which stretches can be read, wherever it lies. */
export interface ReadablePcm {
  readonly sampleRate: number;
  readonly channelCount: number;
  readonly frames: number;
  /** Frames [from, to), both within the sound. */
  read(from: number, to: number): Pcm;
}

/** A sound too long to hold, on disk. */
export interface StoredPcm extends ReadablePcm {
  /** Lets go of the place it takes; nothing can be read afterwards. */
  close(): void;
}

/** As CodedSound, of a sound too long to hold. Whoever got it closes both. */
export type StoredCodedSound = Omit<CodedSound, 'sent' | 'decoded'> & {
  readonly sent: StoredPcm;
  readonly decoded: StoredPcm;
};

/** A sound as it streams by, its blocks of one rate and channel count. */
export interface SoundStream {
  readonly sampleRate: number;
  readonly channels: number;
  readonly blocks: AsyncIterable<Pcm> | Iterable<Pcm>;
}

/**
 * Real encoders and decoders. One engine belongs to one thread; it loads what it needs when first asked and keeps
 * it for the next call. Calls on one engine are made one after the other.
 */
export interface LossyEngine {
  /**
   * Encodes and decodes. Rejects with CodedError CODEC_UNSUITABLE (this codec cannot carry this sound),
   * SOUND_NO_SAMPLES or CODEC_FAILED (the codec stopped; the next call gets a fresh one), or with
   * `run.signal.reason` when aborted.
   */
  code(pcm: Pcm, choice: LossyChoice, run?: Run): Promise<CodedSound>;
  /**
   * The same in one piece for a sound of any length, in memory that does not grow with it: on disk, at 4 bytes a sample
   * for what is sent and as much for what comes back. Not for Opus (CODEC_UNSUITABLE). Rejects as `code` does, with what
   * the blocks throw, and with DISK_FULL.
   */
  codeStored(sound: SoundStream, choice: LossyChoice, run?: Run): Promise<StoredCodedSound>;
  /** Lets go of all that was loaded (about 130 MB for the WebAssembly codecs). The engine can be used again afterwards. */
  free(): void;
}
