/** What the engine works on sound with is made elsewhere, higher up in the house; here it only has a shape. */

/** Works on one sound in the order of time. `Settings` says how. */
export interface Insert<Settings> {
  /** Frames by which the output is later than the input. */
  readonly latencyFrames: number;
  /** Works on a block in place: one array a channel. What comes out does not depend on how the sound was cut. */
  process(block: readonly Float32Array[]): void;
  /** As if nothing had been heard; the next frame is that of the sound's own timeline. */
  reset(at: number): void;
  /**
   * Other settings from the next frame on, without a click. False where that would move the sound in time: then it is heard
   * only until another one has taken over.
   */
  follow(settings: Settings): boolean;
}

/** Where all is heard. */
export interface Surround {
  readonly latencyFrames: number;
  /** After this many frames nothing is left of what it was like before. */
  readonly settledFrames: number;
  process(
    left: Float32Array,
    right: Float32Array,
    outLeft: Float32Array,
    outRight: Float32Array,
    frames: number,
  ): void;
  reset(): void;
}

export interface Makers<Settings, Place> {
  /** @param takenBy a part of the chain: only what it takes away comes out; null: what the chain makes of the sound */
  insert(settings: Settings, takenBy: string | null): Insert<Settings>;
  surround(place: Place): Surround;
}
