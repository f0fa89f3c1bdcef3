/** One sound the desk can play. Frames are at the device's rate. */
export interface PlayerSource {
  readonly versionId: string;
  /** Whose timeline its sound is laid on; itself for references. */
  readonly baseVersionId: string;
  /** Where its own timeline stands when the song's timeline is at 0, s: 0 for versions of the song, the start of the matching section (less the song's) for references. */
  readonly shiftSeconds: number;
  /** Level matching, dB, at most 0. */
  readonly gainDb: number;
  /** What a service would turn it by, dB, at most 0; used while `Hearing.service` is on. */
  readonly serviceDb: number;
}

/** How the chosen sound is heard. All can change while playing, without a click. */
export interface Hearing {
  readonly fold: 'stereo' | 'mono' | 'side';
  readonly swap: boolean;
  /** Right channel turned over. */
  readonly flip: boolean;
  readonly band: 'all' | 'low' | 'low-mid' | 'presence' | 'air';
  /** The version taken away from the chosen one, sample by sample; null: none. */
  readonly minus: string | null;
  /** 20 dB down. */
  readonly quiet: boolean;
  readonly service: boolean;
  /** The listener's own level, dB, at most 0. */
  readonly levelDb: number;
}

export const plainHearing: Hearing = {
  fold: 'stereo',
  swap: false,
  flip: false,
  band: 'all',
  minus: null,
  quiet: false,
  service: false,
  levelDb: 0,
};

export interface Loop {
  readonly startSeconds: number;
  readonly endSeconds: number;
}

export interface PlayerState {
  /** 'locked': the browser waits for a key or a click; 'failed': `trouble` says why and what to do. */
  readonly state: 'locked' | 'stopped' | 'loading' | 'playing' | 'failed';
  readonly positionSeconds: number;
  readonly chosen: string | null;
  readonly loop: Loop | null;
  /** Versions whose sound at this position is at hand: switching to them is instant. */
  readonly ready: ReadonlySet<string>;
  readonly sampleRate: number;
  /** A sentence: no device, device unplugged, server gone, file gone; null when all is well. */
  readonly trouble: string | null;
}

/**
 * Plays several sounds in step, of which one is heard. All times are on the song's timeline. Wraps an AudioContext and one
 * AudioWorklet; keeps a window of each source around the position, so memory does not grow with length or switches.
 */
export interface DeskPlayer {
  readonly state: PlayerState;
  /** Called after every change but of the position, which is read by `position()` at each frame drawn. */
  subscribe(listener: () => void): () => void;
  /** The position heard now (the device's latency taken off), s. */
  position(): number;
  setSources(sources: readonly PlayerSource[], lengthSeconds: number): void;
  choose(versionId: string): void;
  play(): Promise<void>;
  pause(): void;
  seek(seconds: number): void;
  setLoop(loop: Loop | null): void;
  setHearing(hearing: Hearing): void;
  /** Pink noise at -20 dBFS RMS, both channels, for calibrating; starts silent and comes up over 3 s. */
  setNoise(on: boolean): void;
  /** A-weighted mean level of what was sent out since the last call, and for how long something was playing. */
  takeExposure(): { readonly seconds: number; readonly levelDbfsA: number | null };
  close(): Promise<void>;
}
