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
