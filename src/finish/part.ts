import type { SettingFields, ValuesOf } from './settings.ts';

/** What a part is prepared for. */
export interface Format {
  /** Hz, 22050 to 192000. */
  readonly sampleRate: number;
  /** 1 or 2. */
  readonly channels: number;
  /** By how many samples the parts before make the sound late: for parts that act at a time. */
  readonly lateSamples: number;
}

/** Most frames that `process` is given at once; `ChainRunner` cuts longer blocks. */
export const mostFrames = 1024;
/** Rates that parts are made for, Hz. */
export const partRates = { lowest: 22050, highest: 192000 } as const;

/**
 * One processor with its state. What comes out does not depend on how the sound was cut into blocks. A part with
 * neutral settings passes every sample through unchanged, only `latencySamples` later.
 */
export interface Part<Settings> {
  /** How many samples later than the input the output comes. Fixed for as long as the part lives. */
  readonly latencySamples: number;
  /** After this many samples of silence (latency included) nothing above -120 dB of what went in is left. */
  readonly tailSamples: number;
  /**
   * Processes a block in place: one array a channel, all as long, at most `mostFrames`; finite numbers.
   * Allocates nothing that grows with time.
   */
  process(block: readonly Float32Array[]): void;
  /** New settings from the next sample on, reached without a click. Not for settings that change the latency. */
  set(settings: Settings): void;
  /** As if nothing had been processed yet. @param at which sample of the song comes next, for parts that act at a time; 0 */
  reset(at?: number): void;
}

/** A kind of part: its settings, and how one is made. Plain data and pure functions. */
export interface PartKind<Fields extends SettingFields = SettingFields> {
  /** Stays the same between releases: chains name it. */
  readonly id: string;
  /** For people, as in 'the limiter'. */
  readonly name: string;
  readonly fields: Fields;
  /** Whether these settings leave every sample as it is. */
  isNeutral(settings: ValuesOf<Fields>): boolean;
  /** Whether a part with the one settings can be `set` to the other: the latency stays. */
  canFollow(before: ValuesOf<Fields>, after: ValuesOf<Fields>): boolean;
  prepare(settings: ValuesOf<Fields>, format: Format): Part<ValuesOf<Fields>>;
}

/** Whether a part of a kind without settings that change the latency can follow: always. */
export const alwaysFollows = (): boolean => true;
