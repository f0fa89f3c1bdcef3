import { MovingGain } from './moving-gain.ts';
import type { Feed, Sound } from './sound.ts';

/** What is to be played beside the others. */
export interface SourceWish<Settings> {
  /** Tells it from the others. */
  readonly key: string;
  /** Stands for its sound, which several sources may share. */
  readonly sound: string;
  /** Where its own timeline stands when the song's is at 0, frames. */
  readonly shiftFrames: number;
  /** Gain of level matching, and of a service's turning down on top of it; factors. */
  readonly gain: number;
  readonly serviceGain: number;
  /** What it goes through, and the gain of level matching without that; null: it is heard as it is. */
  readonly chain: { readonly settings: Settings; readonly dryGain: number } | null;
}

/** One that is played: a sound at a place against the song, and the gains it is heard with. */
export class Source {
  readonly key: string;
  readonly sound: Sound;
  readonly shiftFrames: number;
  readonly gain = new MovingGain();
  /** Without its chain. */
  readonly dryGain = new MovingGain();

  constructor({ key, shiftFrames }: Pick<SourceWish<unknown>, 'key' | 'shiftFrames'>, sound: Sound) {
    this.key = key;
    this.sound = sound;
    this.shiftFrames = shiftFrames;
  }
}

/** One sound of a voice: a source, where its frames come from, and the gain they are heard with. */
export interface VoicePart {
  readonly source: Source;
  readonly feed: Feed;
  readonly gain: MovingGain;
}
