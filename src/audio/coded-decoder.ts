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

/** A stretch of bytes to be given to a decoder: a part of the file, or bytes made from it. */
export type FeedPart = Uint8Array | { readonly start: number; readonly end: number };

/** What the header of a coded file says, and in what order its bytes are decoded. */
export interface CodedHeader {
  readonly container: string;
  readonly codec: string;
  readonly bitDepth: number | null;
  /** Frames that the header promises exactly; null where it does not. */
  readonly frames: number | null;
  /** True where the coded sound is one channel though the decoder may give two that are equal. */
  readonly mono: boolean;
  readonly feed: readonly FeedPart[];
  /** A fresh decoder for it. */
  createDecoder(): Promise<CodedDecoder>;
}
