import type * as TagLib from 'node-taglib-sharp';

/** What is written into a file; empty text and 0 are left out. */
export interface TagsToWrite {
  readonly title: string;
  readonly artist: string;
  readonly albumArtist: string;
  readonly album: string;
  readonly track: number;
  readonly trackTotal: number;
  readonly composers: readonly string[];
  /** Twelve characters. */
  readonly isrc: string;
  readonly barcode: string;
  readonly catalogNumber: string;
  readonly label: string;
  readonly copyright: string;
  readonly genre: string;
  /** 'yyyy-mm-dd' */
  readonly date: string;
  readonly language: string;
  readonly explicit: string;
  /** ReplayGain 2.0 (reference −18 LUFS; from memory), for players that turn songs or whole records to one loudness. */
  readonly gain: {
    readonly trackDb: number;
    readonly trackPeak: number;
    readonly albumDb: number;
    readonly albumPeak: number;
  } | null;
  readonly artwork: { readonly mimeType: 'image/jpeg' | 'image/png'; readonly bytes: Uint8Array } | null;
}

/** ID3v2.3 rather than 2.4: every reader knows it (common practice). */
const id3Version = 3;
/** The name space in which MP4 files keep items that have no code of their own; readers look there. */
const itemSpace = 'com.apple.iTunes';

/**
 * Writes tags into a WAV, AIFF, FLAC, MP3 or M4A file, in place: Vorbis comments, ID3v2.3, RIFF INFO or MP4 items, whichever the
 * container has. The same tags give the same bytes. By the library node-taglib-sharp. Throws what the disk throws.
 */
export async function writeTags(path: string, tags: TagsToWrite): Promise<void> {
  const library = await import('node-taglib-sharp');
  const { ByteVector, File, Picture, PictureType, TagTypes } = library;
  const file = File.createFromPath(path);
  try {
    // Forms of films, which the library would write beside the usual ones.
    file.removeTags(TagTypes.MovieId | TagTypes.DivX);
    const { tag } = file;
    const id3 = file.getTag(TagTypes.Id3v2, false) as TagLib.Id3v2Tag | undefined;
    if (id3) id3.version = id3Version;
    tag.title = tags.title;
    tag.performers = tags.artist === '' ? [] : [tags.artist];
    tag.albumArtists = tags.albumArtist === '' ? [] : [tags.albumArtist];
    tag.album = tags.album;
    tag.track = tags.track;
    tag.trackCount = tags.trackTotal;
    tag.composers = [...tags.composers];
    tag.isrc = tags.isrc;
    tag.publisher = tags.label;
    tag.copyright = tags.copyright;
    tag.genres = tags.genre === '' ? [] : [tags.genre];
    tag.year = Number(tags.date.slice(0, 4)) || 0;
    if (tags.gain) {
      tag.replayGainTrackGain = tags.gain.trackDb;
      tag.replayGainTrackPeak = tags.gain.trackPeak;
      tag.replayGainAlbumGain = tags.gain.albumDb;
      tag.replayGainAlbumPeak = tags.gain.albumPeak;
    }
    if (tags.artwork) {
      const picture = Picture.fromData(ByteVector.fromByteArray(tags.artwork.bytes));
      picture.type = PictureType.FrontCover;
      picture.mimeType = tags.artwork.mimeType;
      picture.description = '';
      tag.pictures = [picture];
    }
    writeFurther(library, file, tags, id3);
    file.save();
  } finally {
    file.dispose();
  }
}

/** What the library's common names do not reach. */
function writeFurther(
  { Id3v2UserTextInformationFrame, TagTypes }: typeof TagLib,
  file: TagLib.File,
  tags: TagsToWrite,
  id3: TagLib.Id3v2Tag | undefined,
): void {
  const further = Object.entries({
    BARCODE: tags.barcode,
    CATALOGNUMBER: tags.catalogNumber,
    LANGUAGE: tags.language,
    EXPLICIT: tags.explicit,
  }).filter(([, value]) => value !== '');
  const comments = file.getTag(TagTypes.Xiph, false) as TagLib.XiphComment | undefined;
  const items = file.getTag(TagTypes.Apple, false) as TagLib.Mpeg4AppleTag | undefined;
  const list = file.getTag(TagTypes.RiffInfo, false) as TagLib.InfoTag | undefined;
  for (const [name, value] of further) {
    comments?.setFieldAsStrings(name, value);
    items?.setItunesStrings(itemSpace, name, value);
    if (!id3) continue;
    const frame = Id3v2UserTextInformationFrame.fromDescription(name);
    frame.text = [value];
    id3.addFrame(frame);
  }
  // MP4 has no item for a label of its own.
  if (tags.label !== '') items?.setItunesStrings(itemSpace, 'LABEL', tags.label);
  if (tags.date !== '') comments?.setFieldAsStrings('DATE', tags.date);
  // The library's own choices for RIFF are those of films; these are the ones that sound programs read.
  if (list && tags.album !== '') {
    for (const film of ['DIRC', 'ISTR', 'IPRT', 'IFRM', 'IWRI']) list.removeValue(film);
    list.setValuesFromStrings('IPRD', [tags.album]);
    list.setValuesFromStrings('ITRK', [String(tags.track)]);
  }
}
