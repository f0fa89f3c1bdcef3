import { type Bext, bextText } from '../audio/bext.ts';
import type { TagsToWrite } from '../audio/files/write-tags.ts';
import type { SoundTags } from '../audio/sound-info.ts';
import { normaliseTags } from '../audio/sound-tags.ts';
import type { Side } from './assembly/sides.ts';
import type { DeliveryProfile } from './profiles/profile.ts';
import { distinctNames, nameFrom, safeName } from './record/file-names.ts';
import type { RecordSong, ReleaseRecord } from './record/record.ts';

/** One file to be written. */
export interface PlannedFile {
  /** Where it goes, with forward slashes: 'cd/Lanterns.wav'. */
  readonly name: string;
  /** [from, to) of its programme, frames. */
  readonly from: number;
  readonly to: number;
  /** What it is called among people. */
  readonly title: string;
  /** Without what is known only when it is written (gain). */
  readonly tags: Omit<TagsToWrite, 'gain' | 'artwork'>;
  /** What a reader finds of them. */
  readonly readTags: SoundTags;
  /** Without its loudness. */
  readonly bext: Omit<Bext, 'loudness'> | null;
}

/** A song's title with what it is called beside it. */
export function fullTitle({ title, subtitle }: Pick<RecordSong, 'title' | 'subtitle'>): string {
  return subtitle === '' ? title : `${title} (${subtitle})`;
}

/** What the files of songs are called, without folder and ending: all different, on every system. */
export function songNames(record: ReleaseRecord): string[] {
  const digits = Math.max(2, String(record.songs.length).length);
  return distinctNames(
    record.songs.map((song, i) => {
      const track = String(i + 1).padStart(digits, '0');
      const parts = {
        track,
        title: fullTitle(song),
        artist: song.artist || record.artist,
        album: record.title,
        isrc: song.isrc,
        side: song.side,
      };
      return nameFrom(record.naming, parts, `${track} Song`);
    }),
  );
}

export function fileOfSong(
  record: ReleaseRecord,
  profile: DeliveryProfile,
  i: number,
  name: string,
  cut: { readonly from: number; readonly to: number },
  variant = '',
): PlannedFile {
  const song = record.songs[i];
  const title = variant === '' ? fullTitle(song) : `${fullTitle(song)} (${variant})`;
  // An ISRC belongs to one recording: an instrumental is another.
  const isrc = variant === '' ? song.isrc : '';
  const tags = tagsOf(record, {
    title,
    artist: song.artist || record.artist,
    writers: song.writers,
    isrc,
    track: i + 1,
    language: song.language || record.language,
    explicit: song.explicit,
  });
  return {
    name,
    ...cut,
    title,
    ...withRead(tags),
    bext: profile.bext ? bextOf(record, title, isrc) : null,
  };
}

export function fileOfSide(record: ReleaseRecord, profile: DeliveryProfile, side: Side): PlannedFile {
  const title = `${record.title}, side ${side.name}`;
  const tags = tagsOf(record, {
    title,
    artist: record.artist,
    writers: [],
    isrc: '',
    track: 0,
    language: record.language,
    explicit: '',
  });
  const name = `${profile.id}/${safeName(`${record.title} - Side ${side.name}`, `Side ${side.name}`)}.wav`;
  return { name, from: side.from, to: side.to, title, ...withRead(tags), bext: null };
}

export function fileOfImage(record: ReleaseRecord, name: string, frames: number): PlannedFile {
  const tags = tagsOf(record, {
    title: record.title,
    artist: record.artist,
    writers: [],
    isrc: '',
    track: 0,
    language: record.language,
    explicit: '',
  });
  return { name, from: 0, to: frames, title: record.title, ...withRead(tags), bext: null };
}

function tagsOf(
  record: ReleaseRecord,
  own: {
    title: string;
    artist: string;
    writers: readonly string[];
    isrc: string;
    track: number;
    language: string;
    explicit: string;
  },
): PlannedFile['tags'] {
  return {
    title: own.title,
    artist: own.artist,
    albumArtist: record.artist,
    album: record.title,
    track: own.track,
    trackTotal: own.track === 0 ? 0 : record.songs.length,
    composers: own.writers,
    isrc: own.isrc,
    barcode: record.barcode,
    catalogNumber: record.catalogNumber,
    label: record.label,
    copyright: record.copyright,
    genre: record.genre,
    date: record.releaseDate,
    language: own.language,
    explicit: own.explicit,
  };
}

/** What a reader of this house finds of tags, under its common names (src/audio/files/read-tags.ts). */
function withRead(tags: PlannedFile['tags']) {
  const {
    title,
    artist,
    albumArtist,
    album,
    composers,
    isrc,
    barcode,
    catalogNumber,
    label,
    copyright,
    genre,
    date,
    track,
    trackTotal,
  } = tags;
  const readTags = normaliseTags({
    ...{ title, artist, albumArtist, album, isrc, barcode, catalogNumber, label, copyright, genre, date },
    composer: composers,
    track: track || '',
    trackTotal: trackTotal || '',
  });
  return { tags, readTags };
}

function bextOf(record: ReleaseRecord, title: string, isrc: string): Omit<Bext, 'loudness'> {
  return {
    description: bextText(`${record.artist}: ${title}`, 256),
    originator: 'Everyroom',
    originatorReference: isrc,
    originationDate: record.releaseDate,
    originationTime: '',
    timeReference: 0,
    codingHistory: '',
  };
}
