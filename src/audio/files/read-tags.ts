import { parseFile } from 'music-metadata';
import type { SoundTags } from '../sound-info.ts';
import { normaliseTags } from '../sound-tags.ts';

/** Tags of a sound file under common names. Tags that cannot be read are as good as none: the sound matters. */
export async function readTags(path: string): Promise<SoundTags> {
  try {
    const { common } = await parseFile(path, { skipCovers: true, skipPostHeaders: false, duration: false });
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
