import type { Chain } from '../../src/finish/chain.ts';
import type { Place } from '../../src/places/place.ts';
import type { PlaceSettings } from '../../src/places/place-processor.ts';

/** A finishing chain that a source goes through. */
export interface SourceChain {
  /** Another one under the same source's id is followed while playing, without a click. */
  readonly chain: Chain;
  /** Level matching of the sound without the chain, dB, at most 0: used while `Hearing.withoutChain` is on. */
  readonly dryGainDb: number;
}

/** One sound the desk can play. Frames are at the device's rate. */
export interface PlayerSource {
  /** Tells it from the others: one version through several chains makes several sources in step. */
  readonly id: string;
  readonly versionId: string;
  /** Whose timeline its sound is laid on; itself for references. */
  readonly baseVersionId: string;
  /** Where its own timeline stands when the song's timeline is at 0, s: 0 for versions of the song, the start of the matching section (less the song's) for references. */
  readonly shiftSeconds: number;
  /** Level matching, dB, at most 0. */
  readonly gainDb: number;
  /** What a service would turn it by, dB, at most 0; used while `Hearing.service` is on. */
  readonly serviceDb: number;
  /** What it goes through, as `gainDb` takes it; null: it is heard as it is. */
  readonly chain: SourceChain | null;
}

/** How the chosen sound is heard. All can change while playing, without a click. */
export interface Hearing {
  readonly fold: 'stereo' | 'mono' | 'side';
  readonly swap: boolean;
  /** Right channel turned over. */
  readonly flip: boolean;
  readonly band: 'all' | 'low' | 'low-mid' | 'presence' | 'air';
  /** Id of the source taken away from the chosen one, sample by sample; null: none. */
  readonly minus: string | null;
  /** Sources with a chain are heard without it, equally loud (`SourceChain.dryGainDb`). */
  readonly withoutChain: boolean;
  /** Id of a part of the chosen source's chain: only what it takes away is heard; null: all. */
  readonly takenBy: string | null;
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
  withoutChain: false,
  takenBy: null,
  quiet: false,
  service: false,
  levelDb: 0,
};

/** A place that all is heard in. */
export interface LivePlace {
  readonly place: Place;
  /**
   * What a sound of RMS 1, as the sources are matched, has there, and whether its noise is heard. `monitorFullScaleDb` is null:
   * what comes out stays as loud as the sound is, and `gainDb` does the rest.
   */
  readonly settings: PlaceSettings & { readonly monitorFullScaleDb: null };
  /** After the place, dB: from the level it has by itself to the one at the listener's ears. */
  readonly gainDb: number;
}

/** What the sound takes to be made. */
export interface PlayerWork {
  /** Share of one core in the last second or so; null while nothing was played that long. */
  readonly load: number | null;
  /** How often the machine was too slow since the device was opened. */
  readonly underruns: number;
  /** By how much the chosen source's chain is late, s: taken out, so that switching stays in step. 0 without a chain. */
  readonly chainLatencySeconds: number;
}

export interface Loop {
  readonly startSeconds: number;
  readonly endSeconds: number;
}

export interface PlayerState {
  /** 'locked': the browser waits for a key or a click; 'failed': `trouble` says why and what to do. */
  readonly state: 'locked' | 'stopped' | 'loading' | 'playing' | 'failed';
  readonly positionSeconds: number;
  /** Id of the chosen source. */
  readonly chosen: string | null;
  readonly loop: Loop | null;
  /** Ids of sources whose sound at this position is at hand: switching to them is instant. */
  readonly ready: ReadonlySet<string>;
  readonly sampleRate: number;
  /** A sentence: no device, device unplugged, server gone, file gone, machine too slow; null when all is well. */
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
  choose(id: string): void;
  play(): Promise<void>;
  pause(): void;
  seek(seconds: number): void;
  setLoop(loop: Loop | null): void;
  setHearing(hearing: Hearing): void;
  /** Has everything heard in a place; null: as it is. Cross-faded while playing. */
  setPlace(place: LivePlace | null): void;
  /** Read when it is drawn, like the position. */
  work(): PlayerWork;
  /** Pink noise at -20 dBFS RMS, both channels, for calibrating; starts silent and comes up over 3 s. */
  setNoise(on: boolean): void;
  /** A-weighted mean level of what was sent out since the last call, and for how long something was playing. */
  takeExposure(): { readonly seconds: number; readonly levelDbfsA: number | null };
  close(): Promise<void>;
}
