import { CodedError } from '../audio/coded-error.ts';
import type { VersionAlign } from '../compare/lay-versions.ts';
import { spanLoudness } from '../measure/loudness-detail.ts';
import type { LoudnessTrace } from '../measure/loudness-result.ts';
import type { Span } from '../measure/span.ts';
import type { Alignments } from './alignments.ts';
import type { Playback, PlaybackSound } from './playback.ts';
import type { Song, Version } from './shapes.ts';
import type { Figures } from './store/reports.ts';
import type { Songs } from './store/songs.ts';

/** A version on the desk, and how it lies on the timeline of the base. */
export interface DeskVersion {
  readonly version: Version;
  readonly facts: Figures;
  readonly aligned: 'itself' | 'aligned' | 'waiting' | 'unlike';
  readonly reason: string | null;
  readonly offsetSeconds: number;
  readonly driftPpm: number;
  readonly inverted: boolean;
  readonly swapped: boolean;
}

export interface DeskSong {
  readonly song: Song;
  readonly base: Version;
  readonly sources: readonly DeskVersion[];
  readonly missing: readonly { version: Version; reason: string }[];
}

export interface MatchedPart {
  readonly loudnessLufs: number | null;
  /** At most 0. */
  readonly gainDb: number;
}

/** What the desk reads of a version. */
export interface DeskFacts {
  facts(version: Version): Promise<Figures | null>;
  loudness(version: Version): Promise<LoudnessTrace>;
}

interface Length {
  readonly sampleRate: number;
  readonly frames: number;
}

const itself = {
  aligned: 'itself',
  reason: null,
  offsetSeconds: 0,
  driftPpm: 0,
  inverted: false,
  swapped: false,
} as const;
/** How many versions' loudness over time is at hand: a desk with its references twice over (half a megabyte each for a song of four minutes). */
const mostTraces = 24;

/** The listening desk: versions of a song on one timeline, their sound, and the gains that make them equally loud. */
export class Desk {
  readonly #songs: Songs;
  readonly #read: DeskFacts;
  readonly #alignments: Alignments;
  readonly #playback: Playback;
  /** By hash: asked for with every stretch of sound, and never changing. */
  readonly #lengths = new Map<string, Length>();

  /** Those asked for last, the newest at the end. */
  readonly #traces = new Map<string, Promise<LoudnessTrace>>();

  /** The rate a player asked for last, Hz. */
  #lastRate: number | null = null;

  constructor(songs: Songs, read: DeskFacts, alignments: Alignments, playback: Playback) {
    this.#songs = songs;
    this.#read = read;
    this.#alignments = alignments;
    this.#playback = playback;
  }

  /**
   * The versions of a song that have been checked, laid on the timeline of `baseId`, or of the newest that is no reference. What
   * is not known of the laying is begun. CodedError NOT_FOUND: no such song, or nothing of it has been checked.
   */
  async song(songId: string, baseId?: string): Promise<DeskSong> {
    const song = await this.#songs.get(songId);
    const found = await Promise.all(
      song.versions.map(async (version) => ({ version, facts: await this.#read.facts(version) })),
    );
    const checked = found.flatMap(({ version, facts }) => (facts ? [{ version, facts }] : []));
    const missing = found.flatMap(({ version, facts }) =>
      facts ? [] : [{ version, reason: whyNot(version) }],
    );
    const base =
      baseId === undefined
        ? (checked.findLast(({ version }) => version.kind !== 'reference') ?? checked.at(-1))
        : checked.find(({ version }) => version.id === baseId);
    if (!base)
      throw new CodedError(
        'NOT_FOUND',
        baseId === undefined
          ? `Nothing of “${song.title}” has been checked yet.`
          : 'There is no such version in this song that has been checked.',
      );
    const sources = await Promise.all(
      checked.map(async ({ version, facts }): Promise<DeskVersion> => {
        if (version.sha256 === base.version.sha256) return { version, facts, ...itself };
        const kept = await this.#alignments.kept(base.version, version);
        if (!kept) this.#alignments.begin(base.version, version);
        return { version, facts, ...placed(kept) };
      }),
    );
    return { song, base: base.version, sources, missing };
  }

  /** Those of the versions that have been checked, each on its own clock. */
  async references(versionIds: readonly string[]): Promise<DeskVersion[]> {
    const found = await Promise.all(
      versionIds.map(async (versionId) => {
        const version = await this.#songs.getVersion(versionId);
        const facts = await this.#read.facts(version);
        return facts ? [{ version, facts, ...itself }] : [];
      }),
    );
    return found.flat();
  }

  /**
   * Frames [from, from + frames) of a version at `rate`, on the timeline of `baseId`; and the length of that timeline, in
   * frames: to the end of the base or of the version, whichever is later. Waits for the alignment and for the conversion.
   */
  async sound(
    versionId: string,
    { rate, baseId, from, frames }: { rate: number; baseId: string; from: number; frames: number },
  ): Promise<{ readonly bytes: Uint8Array; readonly timelineFrames: number }> {
    this.#lastRate = rate;
    const sound = await this.#soundOf(versionId, rate, baseId);
    return { bytes: await this.#playback.read(sound, from, frames), timelineFrames: sound.frames };
  }

  /**
   * What each part is to be turned by so that all are as loud as the quietest; nothing is ever turned up. Exact to the 100 ms
   * grid of the kept loudness.
   */
  async match(parts: readonly (Span & { readonly versionId: string })[]): Promise<{
    readonly parts: readonly (MatchedPart & { readonly versionId: string })[];
    readonly matchedLufs: number | null;
  }> {
    const loudness = await Promise.all(
      parts.map(async ({ versionId, ...span }) => {
        const trace = await this.#trace(await this.#songs.getVersion(versionId));
        return spanLoudness(trace, span).integratedLufs;
      }),
    );
    const known = loudness.filter((lufs) => lufs !== null);
    const matchedLufs = known.length > 0 ? Math.min(...known) : null;
    return {
      parts: parts.map(({ versionId }, i) => {
        const lufs = loudness[i];
        return {
          versionId,
          loudnessLufs: lufs,
          gainDb: lufs === null || matchedLufs === null ? 0 : Math.min(0, matchedLufs - lufs),
        };
      }),
      matchedLufs,
    };
  }

  /** The same, for a song whose desk is being opened: what will be asked for first is begun too. */
  async open(songId: string, baseId?: string): Promise<DeskSong> {
    const song = await this.song(songId, baseId);
    const { id } = song.base;
    // The rate is known only once a player has asked.
    void this.#playback.prepare(this.#lastRate === null ? null : await this.#soundOf(id, this.#lastRate, id));
    return song;
  }

  /** A loop that is dragged asks again and again: what was read is kept, as long as it is of the version's newest check. */
  #trace(version: Version): Promise<LoudnessTrace> {
    const key = `${version.sha256} ${version.job?.id} ${version.job?.state}`;
    const trace = this.#traces.get(key) ?? this.#read.loudness(version);
    this.#traces.delete(key);
    this.#traces.set(key, trace);
    trace.catch(() => this.#traces.delete(key));
    for (const oldest of this.#traces.keys()) {
      if (this.#traces.size <= mostTraces) break;
      this.#traces.delete(oldest);
    }
    return trace;
  }

  async #soundOf(versionId: string, rate: number, baseId: string): Promise<PlaybackSound> {
    const version = await this.#songs.getVersion(versionId);
    const own = await this.#lengthOf(version);
    const { sha256, name } = version;
    const alone = { sha256, name, rate, startSeconds: 0, driftPpm: 0, inverted: false };
    if (baseId === versionId) return { ...alone, frames: framesOf(own, rate) };
    const base = await this.#songs.getVersion(baseId);
    const baseFrames = framesOf(await this.#lengthOf(base), rate);
    if (base.sha256 === sha256) return { ...alone, frames: baseFrames };
    const { lay } = await this.#alignments.get(base, version);
    if (!lay) return { ...alone, frames: Math.max(baseFrames, framesOf(own, rate)) };
    const endSeconds = (own.frames / own.sampleRate - lay.offsetSeconds) / (1 + lay.driftPpm / 1e6);
    return {
      sha256,
      name,
      rate,
      startSeconds: lay.offsetSeconds,
      driftPpm: lay.driftPpm,
      inverted: lay.inverted,
      frames: Math.max(baseFrames, Math.ceil(endSeconds * rate - 1e-6)),
    };
  }

  async #lengthOf(version: Version): Promise<Length> {
    const known = this.#lengths.get(version.sha256);
    if (known) return known;
    const facts = await this.#read.facts(version);
    if (!facts) throw new CodedError('NOT_FOUND', whyNot(version));
    const { sampleRate, frames } = facts.measurement;
    this.#lengths.set(version.sha256, { sampleRate, frames });
    return { sampleRate, frames };
  }
}

function framesOf({ sampleRate, frames }: Length, rate: number): number {
  return Math.ceil((frames * rate) / sampleRate);
}

function placed(align: VersionAlign | null): Omit<DeskVersion, 'version' | 'facts'> {
  const { aligned: _itself, ...nowhere } = itself;
  if (!align) return { ...nowhere, aligned: 'waiting' };
  if (!align.lay) return { ...nowhere, aligned: 'unlike', reason: align.reason };
  return { aligned: 'aligned', reason: null, ...align.lay };
}

function whyNot({ name, job }: Version): string {
  if (job?.state === 'failed' && job.error) return job.error.message;
  if (job?.state === 'queued' || job?.state === 'running') return `“${name}” is being checked.`;
  return `“${name}” has not been checked yet.`;
}
