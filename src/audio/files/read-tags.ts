import { openAsBlob } from 'node:fs';
import type { SoundTags } from '../sound-info.ts';
import { normaliseTags } from '../sound-tags.ts';

/** What the tag reader calls our containers; without it, it would go by the file's name, which may be wrong. */
const mimeTypes: Readonly<Record<string, string>> = {
  WAV: 'audio/wav',
  RF64: 'audio/wav',
  BW64: 'audio/wav',
  AIFF: 'audio/aiff',
  'AIFF-C': 'audio/aiff',
  FLAC: 'audio/flac',
  MP4: 'audio/mp4',
  MP3: 'audio/mpeg',
  ADTS: 'audio/aac',
  OGG: 'audio/ogg',
};

/**
 * Tags of a sound file under common names; `container` as SoundInfo has it. Tags that cannot be read are as good
 * as none: the sound matters.
 */
export async function readTags(path: string, container: string): Promise<SoundTags> {
  try {
    const { parseBlob } = await import('music-metadata');
    const blob = await openAsBlob(path, { type: mimeTypes[container] });
    const { common } = await parseBlob(blob, { skipCovers: true, duration: false });
    const of = (number: number | null) => (number ? String(number) : '');
    return normaliseTags({
      title: common.title,
      artist: common.artist,
      album: common.album,
      albumArtist: common.albumartist,
      composer: common.composer,
      genre: common.genre,
      date: common.date ?? common.year,
      isrc: common.isrc,
      track: of(common.track.no),
      trackTotal: of(common.track.of),
      disc: of(common.disk.no),
      discTotal: of(common.disk.of),
      barcode: common.barcode,
      catalogNumber: common.catalognumber,
      label: common.label,
      copyright: common.copyright,
      comment: common.comment?.map((entry) => entry.text ?? ''),
      encoder: common.encodedby,
    });
  } catch {
    return {};
  }
}

/** Bytes of the first picture in a file; 0 where there is none or tags cannot be read. */
export async function readArtworkBytes(path: string, container: string): Promise<number> {
  try {
    const { parseBlob } = await import('music-metadata');
    const blob = await openAsBlob(path, { type: mimeTypes[container] });
    const { common } = await parseBlob(blob, { duration: false });
    return common.picture?.[0]?.data.length ?? 0;
  } catch {
    return 0;
  }
}
