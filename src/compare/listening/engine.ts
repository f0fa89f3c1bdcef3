import { floats, instantiateKernels, type Kernels } from '../../signal/kernels.ts';
import type { SoloBand } from './bands.ts';
import { fadeSeconds } from './fade.ts';
import type { Turning } from './hearing.ts';
import type { Makers } from './insert.ts';
import { Mixer, mostFrames, sameVoice, type Voice } from './mixer.ts';
import type { MovingGain } from './moving-gain.ts';
import { Output } from './output.ts';
import { type Place, Shelf } from './shelf.ts';
import type { Feed } from './sound.ts';
import type { Source, SourceWish, VoicePart } from './source.ts';
import { Stage } from './stage.ts';
import { Track } from './track.ts';
import { Tracks } from './tracks.ts';
import { Voices } from './voices.ts';
import type { FrameLoop } from './window.ts';

/** How the chosen sound is heard. */
export interface EngineHearing extends Turning {
  readonly band: SoloBand | 'all';
  /** Key of the source taken away from the chosen one. */
  readonly minus: string | null;
  /** Sources with a chain are heard without it. */
  readonly withoutChain: boolean;
  /** Part of the chosen source's chain of which only what it takes away is heard. */
  readonly takenBy: string | null;
  readonly service: boolean;
}

/** Where the engine stands. */
export interface EngineReport {
  /** Next frame of the song's timeline. */
  readonly position: number;
  /** Whether a sound goes out. */
  readonly heard: boolean;
  /** Whether it would play, had it the sound. */
  readonly waiting: boolean;
  readonly playing: boolean;
  /** Keys of sources whose sound at the position is at hand. */
  readonly ready: readonly string[];
  /** Chunks of sounds that are missing, the most urgent first. */
  readonly wanted: readonly { readonly key: string; readonly chunk: number }[];
  /** Since the beginning: A-weighted squares of both channels added, and frames for which something played. */
  readonly exposure: { readonly weighted: number; readonly frames: number };
  /** Room taken for chunks. */
  readonly chunkBytes: number;
  /** By how much the chosen source's chain is late, frames; taken out. */
  readonly chainFrames: number;
}

/** Frames that must be at hand, as fades, before a sound is begun or switched to. */
const fadesAhead = 4;
/** Frames that chains catch up on, and that are made ahead unheard, for each frame heard. */
const catchUp = 8;
/** How long before the loop's end the chain at its start begins to run, s. */
const loopAheadSeconds = 2;

/**
 * Plays several sounds in step, of which one is heard. Whatever changes what is heard — another source, a jump, the loop's
 * seam, a band, a difference, start and pause — is a crossfade from one voice to the next; what comes during a fade waits for
 * its end (10 ms) and takes up at the right sample. Levels and turnings move in straight lines of the same length. All times are
 * frames of the song's timeline at the device's rate.
 *
 * Sources may go through a chain, all may be heard in a place; what those do is made by the `Makers`.
 */
export class DeskEngine<Settings, HeardPlace> {
  readonly #kernels: Kernels = instantiateKernels();
  readonly #fadeFrames: number;
  readonly #loopAhead: number;
  readonly #mixer: Mixer;
  readonly #voices: Voices;
  readonly #output: Output;
  readonly #shelf: Shelf<Settings>;
  readonly #tracks: Tracks<Settings>;
  readonly #stage: Stage<HeardPlace>;
  readonly #frames: number;
  #length = 0;
  #chosen: string | null = null;
  /** Chosen before that: its chain is kept running, so that going back is at once. */
  #before: string | null = null;
  #minus: string | null = null;
  #withoutChain = false;
  #takenBy: string | null = null;
  #band: SoloBand | 'all' = 'all';
  #service = false;
  #playing = false;
  #loop: FrameLoop | null = null;
  #seekTo: number | null = null;
  #position = 0;

  constructor(sampleRate: number, makers: Makers<Settings, HeardPlace>) {
    this.#fadeFrames = Math.round(fadeSeconds * sampleRate);
    this.#loopAhead = Math.round(loopAheadSeconds * sampleRate);
    this.#mixer = new Mixer(this.#kernels, sampleRate);
    this.#output = new Output(this.#kernels, sampleRate, this.#fadeFrames);
    this.#shelf = new Shelf(this.#kernels, sampleRate);
    this.#tracks = new Tracks(this.#kernels, makers.insert, sampleRate);
    this.#stage = new Stage(this.#kernels, this.#fadeFrames, makers.surround);
    this.#frames = this.#kernels.allocate(8 * mostFrames);
    this.#voices = new Voices(this.#kernels, this.#mixer, this.#fadeFrames);
  }

  /** Length of a crossfade, frames. */
  get fadeFrames(): number {
    return this.#fadeFrames;
  }

  /** What can be played, and how long the song is. Sources that were there keep their sound. */
  setSources(wishes: readonly SourceWish<Settings>[], lengthFrames: number): void {
    this.#length = lengthFrames;
    for (const source of this.#shelf.set(wishes)) this.#tracks.forget(source);
    for (const { source, wish } of this.#shelf.all())
      if (wish.chain) this.#tracks.follow(source, wish.chain.settings);
      else this.#tracks.forget(source);
    this.#moveGains();
  }

  /** How long a sound's own timeline is, once that is known. */
  setLength(sound: string, frames: number): void {
    this.#shelf.setLength(sound, frames);
  }

  choose(key: string | null): void {
    if (key !== this.#chosen) this.#before = this.#chosen;
    this.#chosen = key;
  }

  setHearing(hearing: EngineHearing): void {
    this.#minus = hearing.minus;
    this.#withoutChain = hearing.withoutChain;
    this.#takenBy = hearing.takenBy;
    this.#band = hearing.band;
    this.#service = hearing.service;
    this.#output.turn(hearing);
    this.#moveGains();
  }

  /** Where all is heard, and a factor after that; null: as it is. */
  setPlace(place: HeardPlace | null, gain: number): void {
    this.#stage.set(place, gain);
  }

  setPlaceGain(gain: number): void {
    this.#stage.setGain(gain);
  }

  setLoop(loop: FrameLoop | null): void {
    // A loop shorter than its seam would never be heard out.
    this.#loop = loop && { start: loop.start, end: Math.max(loop.end, loop.start + 4 * this.#fadeFrames) };
  }

  play(): void {
    this.#playing = true;
  }

  pause(): void {
    this.#playing = false;
  }

  seek(frame: number): void {
    this.#seekTo = Math.max(0, Math.min(this.#length, Math.round(frame)));
  }

  setNoise(on: boolean): void {
    this.#output.setNoise(on);
  }

  /** Takes a chunk of a sound, interleaved frames; one that is no longer wanted is dropped. */
  give(sound: string, chunk: number, samples: Float32Array): void {
    this.#shelf.give(sound, chunk, samples, this.#place);
  }

  /** Lets go of chunks that are far away, and says where everything stands. */
  report(mostWanted: number): EngineReport {
    this.#shelf.release(this.#place, new Set(this.#voices.parts().map(({ source }) => source)));
    const at = this.#seekTo ?? this.#position;
    const chosen = this.#shelf.source(this.#chosen);
    const minus = this.#shelf.source(this.#minus);
    const ahead = fadesAhead * this.#fadeFrames;
    return {
      position: this.#seekTo ?? Math.max(0, at - this.#stage.behind),
      heard: this.#sounding,
      waiting: this.#playing && this.#voices.silent,
      playing: this.#playing,
      ready: [...this.#shelf.all()].flatMap(({ source }) => {
        const from = at + source.shiftFrames;
        return source.sound.holds(from, from + ahead) ? [source.key] : [];
      }),
      wanted: this.#shelf.wanted(mostWanted, this.#place, (each) => each === chosen || each === minus),
      exposure: this.#output.exposure,
      chunkBytes: this.#shelf.chunkBytes,
      chainFrames: chosen ? this.#tracks.latencyFrames(chosen) : 0,
    };
  }

  /** Makes the next frames: as many as the two arrays are long. */
  process(left: Float32Array, right: Float32Array): void {
    this.#runTracks(catchUp * left.length);
    const send = (at: number, count: number) =>
      this.#output.send(
        this.#frames,
        count,
        this.#sounding,
        left.subarray(at, at + count),
        right.subarray(at, at + count),
      );
    for (let spare = catchUp * left.length; this.#stage.unheard > 0 && spare > 0; ) {
      this.#decide();
      spare -= this.#make(Math.min(spare, this.#stage.unheard));
    }
    for (let at = 0; at < left.length; ) {
      if (this.#stage.unheard === 0) this.#decide();
      if (this.#stage.unheard > 0) {
        // Not as far yet as to be heard.
        const count = Math.min(left.length - at, mostFrames, this.#output.untilEvent);
        floats(this.#kernels, this.#frames, 2 * count).fill(0);
        send(at, count);
        at += count;
        continue;
      }
      const count = this.#make(left.length - at);
      send(at, count);
      at += count;
    }
  }

  get #sounding(): boolean {
    return this.#voices.sounding || this.#stage.sounding;
  }

  get #place(): Place {
    const position = this.#seekTo ?? this.#position;
    return { position, voices: [...this.#voices.all()].map((voice) => voice.position), loop: this.#loop };
  }

  /** What is heard next. */
  #decide(): void {
    if (!this.#voices.arrive()) return;
    const { now } = this.#voices;
    const jump = this.#seekTo ?? this.#loopJump();
    this.#seekTo = null;
    const at = jump ?? this.#position;
    if (at >= this.#length) this.#playing = false;
    if (!now) {
      this.#position = at;
      // Begun early, and unheard as long, where a place has to settle first.
      const runUp = this.#stage.sounding ? 0 : Math.min(at, this.#stage.runUp);
      const next = this.#playing ? this.#wishedVoice(at - runUp, runUp) : null;
      if (!next) return;
      if (!this.#stage.sounding) this.#stage.start(runUp);
      this.#voices.fadeTo(next, null);
      return;
    }
    const next = this.#playing ? this.#wishedVoice(at) : null;
    if (!this.#playing) this.#voices.fadeTo(null, jump);
    else if (jump !== null) this.#voices.fadeTo(next, jump);
    else if (next && !sameVoice(now, next)) this.#voices.fadeTo(next, null);
    else if (!this.#lasts(now)) this.#voices.fadeTo(null, null);
  }

  /** Where the loop's end leads, when it has just been reached: by as much after the start as it was passed. */
  #loopJump(): number | null {
    if (!this.#loop || !this.#voices.now) return null;
    const past = this.#position - this.#loop.end;
    return past >= 0 && past < 4 * this.#fadeFrames ? this.#loop.start + past : null;
  }

  /** The voice that was asked for, when its sound is at hand. */
  #wishedVoice(position: number, runUp = 0): Voice | null {
    const source = this.#shelf.source(this.#chosen);
    const minus = this.#shelf.source(this.#minus);
    if (!source) return null;
    const main = this.#partOf(source, this.#takenBy, position);
    const voice: Voice = {
      main,
      minus: minus && this.#partOf(minus, null, position),
      band: this.#band,
      position,
    };
    return this.#lasts(voice, runUp + fadesAhead * this.#fadeFrames) ? voice : null;
  }

  /** How a source is heard now. */
  #partOf(source: Source, takenBy: string | null, position: number): VoicePart {
    if (!this.#tracks.has(source)) return { source, feed: source.sound, gain: source.gain };
    if (this.#withoutChain) return { source, feed: source.sound, gain: source.dryGain };
    return { source, feed: this.#trackAt(source, takenBy, position), gain: source.gain };
  }

  #trackAt(source: Source, takenBy: string | null, position: number): Track<Settings> {
    const at = position + source.shiftFrames - this.#mixer.reach(this.#band);
    return this.#tracks.at(source, takenBy, at, (feed) => this.#hears(feed));
  }

  /** Has the chains run that are heard, and with what is left of `spare` frames those that would be at a press. */
  #runTracks(spare: number): void {
    this.#tracks.newRound((feed) => this.#hears(feed));
    this.#runHeard();
    const at = this.#seekTo ?? this.#position;
    const early = Math.min(at, this.#stage.runUp);
    const wanted: [source: string | null, takenBy: string | null, position: number][] = [
      [this.#chosen, this.#takenBy, at - early],
      [this.#minus, null, at - early],
    ];
    const loop = this.#loop;
    if (loop && this.#voices.now && at < loop.end && loop.end - at < this.#loopAhead)
      wanted.push([this.#chosen, this.#takenBy, loop.start], [this.#minus, null, loop.start]);
    wanted.push([this.#chosen, null, at - early], [this.#before, null, at - early]);
    let left = spare;
    for (const [key, takenBy, position] of wanted) {
      const each = this.#shelf.source(key);
      if (!each || !this.#tracks.has(each)) continue;
      const track = this.#trackAt(each, takenBy, position);
      left -= track.advance(position + early + each.shiftFrames + this.#ahead, left);
    }
  }

  #runHeard(): void {
    for (const { position, main, minus } of this.#voices.all())
      for (const part of [main, minus])
        if (part?.feed instanceof Track)
          part.feed.advance(position + part.source.shiftFrames + this.#ahead, Number.POSITIVE_INFINITY);
  }

  /** How far a track is ahead of where it is heard. */
  get #ahead(): number {
    return fadesAhead * this.#fadeFrames + mostFrames + this.#mixer.reach(this.#band);
  }

  #hears(feed: Feed): boolean {
    return this.#voices.parts().some((part) => part.feed === feed);
  }

  #lasts({ main, minus, band, position }: Voice, frames = this.#fadeFrames + mostFrames): boolean {
    const reach = this.#mixer.reach(band);
    return [main, minus].every((part) => {
      if (!part) return true;
      const from = position + part.source.shiftFrames;
      return part.feed.holds(from - reach, from + frames + reach);
    });
  }

  /** Makes up to `most` frames as they are heard, and says how many. */
  #make(most: number): number {
    this.#runHeard();
    const { sounding } = this.#voices;
    const count = this.#voices.mix(this.#frames, Math.min(most, this.#untilEvent()));
    this.#stage.process(this.#frames, count, sounding);
    this.#position = this.#voices.position ?? this.#position;
    return count;
  }

  #untilEvent(): number {
    const ends = this.#voices.steady ? [this.#length, this.#loop?.end ?? 0] : [];
    const until = ends.map((end) => end - this.#position).filter((frames) => frames > 0);
    return Math.min(mostFrames, this.#output.untilEvent, ...until);
  }

  #moveGains(): void {
    const heard = this.#voices.gains();
    for (const { source, wish } of this.#shelf.all()) {
      const service = this.#service ? wish.serviceGain : 1;
      const move = (gain: MovingGain, to: number) =>
        gain.moveTo(to * service, heard.has(gain) ? this.#fadeFrames : 0);
      move(source.gain, wish.gain);
      move(source.dryGain, wish.chain?.dryGain ?? wish.gain);
    }
  }
}
