import { type AlbumPlan, planAlbum, trackCuts } from './assembly/album-plan.ts';
import { cueSheet } from './assembly/cue-sheet.ts';
import { type Side, sidesOf } from './assembly/sides.ts';
import {
  fileOfImage,
  fileOfSide,
  fileOfSong,
  fullTitle,
  type PlannedFile,
  songNames,
} from './planned-file.ts';
import type { DeliveryProfile } from './profiles/profile.ts';
import { distinctNames, safeName } from './record/file-names.ts';
import type { RecordSong, ReleaseRecord } from './record/record.ts';

/** A sound that goes in, made ready: cut, faded and through its chain. */
export interface ReadySound {
  readonly sampleRate: number;
  readonly frames: number;
  /** Bits of the whole numbers in it, where it is the source itself and nothing was done to it; null otherwise. */
  readonly exactBits: number | null;
  readonly integratedLufs: number | null;
  readonly truePeakDbtp: number | null;
}

/** All that goes in, by song. */
export interface ReadySong<Sound extends ReadySound = ReadySound> {
  readonly song: Sound;
  readonly instrumental: Sound | null;
  readonly clean: Sound | null;
  readonly stems: readonly Sound[];
}

/** A stretch of sound that is put together once and cut into files. */
export interface Programme<Sound extends ReadySound = ReadySound> {
  readonly id: string;
  readonly profile: DeliveryProfile;
  readonly plan: AlbumPlan;
  readonly sounds: readonly Sound[];
  /** Of each sound, dB. */
  readonly gainsDb: readonly number[];
  /** Whether words are shortened with dither; false where every sample goes through as it is. */
  readonly dithered: boolean;
  readonly files: readonly PlannedFile[];
}

export interface DeliveryPlan<Sound extends ReadySound = ReadySound> {
  readonly programmes: readonly Programme<Sound>[];
  /** Cue sheets, by name. */
  readonly texts: readonly { readonly name: string; readonly text: string }[];
  /** The disc, where there is one. */
  readonly disc: AlbumPlan | null;
  readonly sides: { readonly sides: readonly Side[]; readonly sampleRate: number } | null;
  /** By how much the whole record is turned down to stay under the ceiling of a profile, dB; only those that are. */
  readonly turnedDown: readonly { readonly profileId: string; readonly gainDb: number }[];
}

const endings = { WAV: 'wav', AIFF: 'aif', FLAC: 'flac', MP3: 'mp3', MP4: 'm4a' } as const;

/**
 * What is to be written for a record, to the sample and to the name. Songs are cut from the record as it plays: the silence
 * before a song ends the file of the song before it (common practice), so that files played in a row are the record. Throws
 * RangeError where a sound has no length.
 */
export function planDelivery<Sound extends ReadySound>(
  record: ReleaseRecord,
  profiles: readonly DeliveryProfile[],
  songs: readonly ReadySong<Sound>[],
): DeliveryPlan<Sound> {
  const parts = profiles.map((profile) => planProfile(record, profile, songs));
  return {
    programmes: parts.flatMap(({ programmes }) => programmes),
    texts: parts.flatMap(({ texts }) => texts),
    disc: parts.find(({ profile }) => profile.shape === 'image')?.programmes[0]?.plan ?? null,
    sides: parts.find(({ sides }) => sides !== null)?.sides ?? null,
    turnedDown: parts.flatMap(({ profile, turnDb }) =>
      turnDb < 0 ? [{ profileId: profile.id, gainDb: turnDb }] : [],
    ),
  };
}

interface ProfilePart<Sound extends ReadySound> {
  readonly profile: DeliveryProfile;
  readonly programmes: Programme<Sound>[];
  readonly texts: { name: string; text: string }[];
  readonly sides: DeliveryPlan['sides'];
  readonly turnDb: number;
}

function planProfile<Sound extends ReadySound>(
  record: ReleaseRecord,
  profile: DeliveryProfile,
  songs: readonly ReadySong<Sound>[],
): ProfilePart<Sound> {
  const { shape } = profile;
  if (shape === 'variants' || shape === 'stems') return extras(record, profile, songs);
  const sounds = songs.map(({ song }) => song);
  const sampleRate = rateFor(profile, sounds);
  const plan = planAlbum(
    record.songs.map((song, i) => ({ ...sounds[i], ...meeting(song) })),
    { sampleRate, gridFrames: profile.gridFrames },
  );
  const turnDb = turnedBy(
    profile,
    sounds.map((sound, i) => peakWith(sound, record.songs[i].gainDb)),
  );
  const gainsDb = sounds.map((sound, i) => gainOf(profile, sound, record.songs[i].gainDb + turnDb));
  const base = { profile, plan, sounds, gainsDb, dithered: !isExact(profile, plan, sounds, gainsDb) };
  const sides =
    shape === 'sides'
      ? sidesOf(
          plan,
          record.songs.map(({ side }) => side),
        )
      : null;
  const texts: { name: string; text: string }[] = [];
  const files: PlannedFile[] = [];
  if (sides) {
    for (const side of sides) files.push(fileOfSide(record, profile, side));
  } else if (shape === 'image') {
    const name = safeName(record.title, 'Record');
    files.push(fileOfImage(record, `${profile.id}/${name}.wav`, plan.frames));
    texts.push({
      name: `${profile.id}/${name}.cue`,
      text: cueSheet(plan, {
        ...record,
        file: `${name}.wav`,
        songs: record.songs.map((song) => ({
          ...song,
          title: fullTitle(song),
          artist: song.artist || record.artist,
        })),
      }),
    });
  } else {
    const cuts = trackCuts(plan);
    const names = songNames(record);
    for (const [i, cut] of cuts.entries())
      files.push(
        fileOfSong(record, profile, i, `${profile.id}/${names[i]}.${endings[profile.container]}`, cut),
      );
  }
  return {
    profile,
    programmes: [{ ...base, id: profile.id, files }],
    texts,
    sides: sides && { sides, sampleRate },
    turnDb,
  };
}

/** Variants and stems: each sound by itself, those of one song at one gain; stems all as long as the longest. */
function extras<Sound extends ReadySound>(
  record: ReleaseRecord,
  profile: DeliveryProfile,
  songs: readonly ReadySong<Sound>[],
): ProfilePart<Sound> {
  const programmes: Programme<Sound>[] = [];
  const names = songNames(record);
  let turned = 0;
  for (const [i, { instrumental, clean, stems }] of songs.entries()) {
    const song = record.songs[i];
    const wanted =
      profile.shape === 'stems'
        ? stems.map((sound, k) => ({ sound, word: song.stems[k].name, folder: `${names[i]}/` }))
        : [
            ...(instrumental ? [{ sound: instrumental, word: 'Instrumental', folder: '' }] : []),
            ...(clean ? [{ sound: clean, word: 'Clean', folder: '' }] : []),
          ];
    if (wanted.length === 0) continue;
    const sampleRate = rateFor(
      profile,
      wanted.map(({ sound }) => sound),
    );
    const plans = wanted.map(({ sound }) =>
      planAlbum([{ ...sound, join: 'gap', gapSeconds: 0, crossfadeSeconds: 0 }], { sampleRate }),
    );
    const longest = Math.max(...plans.map(({ frames }) => frames));
    const turnDb = turnedBy(
      profile,
      wanted.map(({ sound }) => sound.truePeakDbtp),
    );
    turned = Math.min(turned, turnDb);
    const own = distinctNames(
      wanted.map(({ word }) =>
        profile.shape === 'stems' ? safeName(word, 'Stem') : safeName(`${names[i]} (${word})`, word),
      ),
    );
    for (const [k, { sound, word, folder }] of wanted.entries()) {
      const plan = profile.shape === 'stems' ? { ...plans[k], frames: longest } : plans[k];
      const name = `${profile.id}/${folder}${own[k]}.${endings[profile.container]}`;
      const gainsDb = [turnDb];
      const file = fileOfSong(record, profile, i, name, { from: 0, to: plan.frames }, word);
      programmes.push({
        id: name,
        profile,
        plan,
        sounds: [sound],
        gainsDb,
        dithered: !isExact(profile, plan, [sound], gainsDb),
        files: [file],
      });
    }
  }
  return { profile, programmes, texts: [], sides: null, turnDb: turned };
}

function meeting({ join, gapSeconds, crossfadeSeconds }: RecordSong) {
  return { join, gapSeconds, crossfadeSeconds };
}

function rateFor({ sampleRate }: DeliveryProfile, sounds: readonly ReadySound[]): number {
  return sampleRate === 'native' ? Math.max(...sounds.map((sound) => sound.sampleRate)) : sampleRate;
}

const peakWith = ({ truePeakDbtp }: ReadySound, gainDb: number): number | null =>
  truePeakDbtp === null ? null : truePeakDbtp + gainDb;

/** By how much all are turned down so that the highest of these peaks is at the ceiling, dB, at most 0; rounded down to 0.01. */
function turnedBy({ ceiling, loudness }: DeliveryProfile, peaks: readonly (number | null)[]): number {
  if (ceiling === null || loudness !== null) return 0;
  const highest = Math.max(...peaks.map((peak) => peak ?? Number.NEGATIVE_INFINITY));
  return Math.min(0, Math.floor((ceiling.dbtp - highest) * 100) / 100);
}

function gainOf({ loudness }: DeliveryProfile, { integratedLufs }: ReadySound, gainDb: number): number {
  return loudness === null || integratedLufs === null ? gainDb : loudness.lufs - integratedLufs;
}

/** Whether every sample of the record is one of a source, as it is. */
function isExact(
  profile: DeliveryProfile,
  plan: AlbumPlan,
  sounds: readonly ReadySound[],
  gainsDb: readonly number[],
): boolean {
  const { bits } = profile;
  return (
    bits !== null &&
    sounds.every(
      ({ exactBits, sampleRate }) =>
        exactBits !== null && exactBits <= bits && sampleRate === plan.sampleRate,
    ) &&
    gainsDb.every((gain) => gain === 0) &&
    plan.runs.every(({ overlapFrames }) => overlapFrames === 0)
  );
}
