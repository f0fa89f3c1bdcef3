/** Equally long sounds that play in a loop, all at once and in step, of which one is heard. */
export interface Sounds {
  readonly seconds: number;
  readonly playing: boolean;
  /** Which one is heard, or would be. */
  readonly heard: number;
  hear(index: number): void;
  play(): void;
  pause(): void;
  /** Where in the loop, s. */
  position(): number;
  /** dB, 0 at most; the same for all. */
  setLevel(db: number): void;
  close(): void;
}

/** From one sound to another, seconds: too short to hear as a fade, too long to click. */
export const crossfadeSeconds = 0.01;
/** From silence and back, seconds. */
export const fadeSeconds = 0.03;

export const gainOf = (db: number): number => 10 ** (db / 20);
