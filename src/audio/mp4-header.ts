import { decoder as mp4Decoder } from '@audio/decode-mp4';
import { type ByteSource, latin1, viewOf } from './byte-source.ts';
import type { CodedDecoder, CodedHeader, DecodedPart, FeedPart } from './coded-decoder.ts';
import { CodedError } from './coded-error.ts';
import { scaleFlac } from './flac-decoder.ts';

interface Box {
  readonly type: string;
  /** First byte of the box, in the file or in the bytes that hold it. */
  readonly start: number;
  /** First byte of its contents. */
  readonly body: number;
  readonly end: number;
}

/** Top-level boxes looked at before a file counts as damaged; three hours in one-second fragments are 22,000. */
const maxBoxes = 100_000;
/** Largest index that is read: a day of sound has about 20 MB (a limit of ours). */
const maxIndexBytes = 64 * 2 ** 20;

const damaged = (name: string, what: string) =>
  new CodedError('SOUND_DAMAGED', `“${name}” is damaged: ${what}. Copy or export it again.`);

/**
 * Reads the index of an MP4 file (ISO/IEC 14496-12) and puts the bytes in the order a decoder that never looks back
 * can take: the index (moov) first, with the places it names moved along. Counts in it are held against its size, so
 * that a false one cannot make the decoder reserve memory without end.
 */
export async function readMp4Header(source: ByteSource, start: number): Promise<CodedHeader> {
  const { name } = source;
  const boxes = await topBoxes(source, start);
  const index = boxes.find((box) => box.type === 'moov');
  if (!index || index.end > source.size)
    throw new CodedError(
      'SOUND_TRUNCATED',
      `“${name}” has no index of its sound, as when a recording or download did not finish. Copy or export it again.`,
    );
  if (index.end - index.start > maxIndexBytes) throw damaged(name, 'its index is too large to be true');
  const moov = await source.read(index.start, index.end - index.start);
  const tracks = findTracks(name, moov, source.size);
  const track = tracks.find((candidate) => candidate.handler === 'soun');
  if (!track)
    throw new CodedError('SOUND_NO_SAMPLES', `“${name}” has no sound in it, only pictures or text.`);
  for (const box of boxes) if (box.type === 'moof') await checkFragment(source, box);
  const described = describe(name, track, moov);
  return {
    container: 'MP4',
    ...described,
    feed: indexFirst(boxes, index, moov, tracks),
    createDecoder: described.codec === 'FLAC' ? () => exactFlac(described.bitDepth ?? 16) : mp4Decoder,
  };
}

async function topBoxes(source: ByteSource, start: number): Promise<Box[]> {
  const boxes: Box[] = [];
  for (let at = start; at + 8 <= source.size; ) {
    if (boxes.length >= maxBoxes) throw damaged(source.name, 'it is cut into too many pieces');
    const box = boxAt(await source.read(at, 16), 0, source.size - at);
    if (!box) break;
    boxes.push({ type: box.type, start: at, body: at + box.body, end: at + box.end });
    at += box.end;
  }
  return boxes;
}

/** The box at `at`; null when there is none. A size of 0 means 'to the end' (section 4.2). */
function boxAt(bytes: Uint8Array, at: number, end: number): Box | null {
  if (at + 8 > Math.min(end, bytes.length)) return null;
  const view = viewOf(bytes);
  let size = view.getUint32(at, false);
  let head = 8;
  if (size === 1 && at + 16 <= bytes.length) {
    size = view.getUint32(at + 8, false) * 2 ** 32 + view.getUint32(at + 12, false);
    head = 16;
  } else if (size === 0) size = end - at;
  if (size < head) return null;
  return { type: latin1(bytes, at + 4, at + 8), start: at, body: at + head, end: at + size };
}

function* boxesIn(bytes: Uint8Array, start: number, end: number): Generator<Box> {
  for (let at = start; at < end; ) {
    const box = boxAt(bytes, at, end);
    if (!box || box.end > end) return;
    yield box;
    at = box.end;
  }
}

interface Track {
  handler: string;
  /** Sample entry (stsd) of the first kind of sample. */
  entry?: Box;
  /** Tables of places of samples in the file, stco or co64. */
  places: Box[];
}

const branches = new Set(['trak', 'mdia', 'minf', 'stbl', 'edts', 'mvex']);
/** Boxes that hold a count and then entries: place of the count in the body, and bytes an entry takes at least. */
const tables: Readonly<Record<string, readonly [countAt: number, entryBytes: number]>> = {
  stts: [4, 8],
  ctts: [4, 8],
  stsc: [4, 12],
  stco: [4, 4],
  co64: [4, 8],
  stss: [4, 4],
  elst: [4, 12],
};

function findTracks(name: string, moov: Uint8Array, fileBytes: number): Track[] {
  const view = viewOf(moov);
  const tracks: Track[] = [];
  const visit = (start: number, end: number, depth: number) => {
    for (const box of boxesIn(moov, start, end)) {
      const track = tracks.at(-1);
      if (box.type === 'trak') tracks.push({ handler: '', places: [] });
      if (branches.has(box.type) && depth < 8) visit(box.body, box.end, depth + 1);
      const table = tables[box.type];
      if (table) {
        if (box.body + table[0] + 4 > box.end) throw damaged(name, 'its index is cut short');
        const count = view.getUint32(box.body + table[0], false);
        if (count * table[1] > box.end - box.body) throw damaged(name, 'its index contradicts itself');
      }
      if (box.type === 'stsz') checkSampleSizes(name, view, box, fileBytes);
      if (!track) continue;
      if (box.type === 'hdlr' && box.body + 12 <= box.end)
        track.handler = latin1(moov, box.body + 8, box.body + 12);
      else if (box.type === 'stco' || box.type === 'co64') track.places.push(box);
      else if (box.type === 'stsd') track.entry = boxAt(moov, box.body + 8, box.end) ?? undefined;
    }
  };
  visit(8, moov.length, 0);
  return tracks;
}

function checkSampleSizes(name: string, view: DataView, box: Box, fileBytes: number): void {
  if (box.body + 12 > box.end) throw damaged(name, 'its index is cut short');
  const size = view.getUint32(box.body + 4, false);
  const count = view.getUint32(box.body + 8, false);
  const fits = size === 0 ? 12 + count * 4 <= box.end - box.body : size * count <= fileBytes;
  if (!fits) throw damaged(name, 'its index contradicts itself');
}

/** Holds the counts of a fragment (section 8.8.8) against its size and the file's. */
async function checkFragment(source: ByteSource, box: Box): Promise<void> {
  if (box.end > source.size || box.end - box.start > maxIndexBytes) return;
  const bytes = await source.read(box.start, box.end - box.start);
  const view = viewOf(bytes);
  for (const traf of boxesIn(bytes, box.body - box.start, bytes.length))
    for (const run of boxesIn(bytes, traf.body, traf.type === 'traf' ? traf.end : traf.body))
      if (run.type === 'trun') {
        if (run.body + 8 > run.end) throw damaged(source.name, 'its index is cut short');
        const flags = view.getUint32(run.body, false);
        const entry = 4 * [0x100, 0x200, 0x400, 0x800].filter((flag) => flags & flag).length;
        const count = view.getUint32(run.body + 4, false);
        if (count * Math.max(entry, 1) > (entry > 0 ? run.end - run.body : source.size))
          throw damaged(source.name, 'its index contradicts itself');
      }
}

function describe(
  name: string,
  track: Track,
  moov: Uint8Array,
): Pick<CodedHeader, 'codec' | 'bitDepth' | 'frames' | 'mono'> {
  const type = track.entry?.type ?? '';
  const channels =
    track.entry && track.entry.body + 20 <= moov.length
      ? viewOf(moov).getUint16(track.entry.body + 16, false)
      : 0;
  const bits = channels > 0 && track.entry ? viewOf(moov).getUint16(track.entry.body + 18, false) : null;
  const coded = { frames: null, bitDepth: null, mono: channels === 1 };
  switch (type) {
    case 'mp4a':
      return { ...coded, codec: 'AAC' };
    case 'alac':
      return { ...coded, codec: 'ALAC', mono: false, bitDepth: alacBits(track.entry, moov) };
    case 'fLaC':
      return { ...coded, codec: 'FLAC', mono: false, bitDepth: bits };
    case 'Opus':
      return { ...coded, codec: 'Opus', mono: false };
    case '.mp3':
      return { ...coded, codec: 'MP3' };
    default:
      throw new CodedError(
        'SOUND_CODEC_UNKNOWN',
        `“${name}” is an MP4 file whose sound is coded as “${type.replace(/[^\x20-\x7e]/g, '?')}”, which cannot be read here. Export it as WAV, ALAC or AAC.`,
      );
  }
}

/** The decoder for FLAC in MP4, with its scale mended (scaleFlac). */
async function exactFlac(bitDepth: number): Promise<CodedDecoder> {
  const decoder = await mp4Decoder();
  const exact = (part: DecodedPart): DecodedPart => ({
    ...part,
    channelData: part.channelData.map((samples) => scaleFlac(samples, bitDepth)),
  });
  return {
    decode: async (bytes) => exact(await decoder.decode(bytes)),
    flush: async () => exact(await decoder.flush()),
    free: () => decoder.free(),
  };
}

/** Bit depth from the ALAC magic cookie (Apple, ALACSpecificConfig: the sixth byte after the frame length). */
function alacBits(entry: Box | undefined, moov: Uint8Array): number | null {
  if (!entry) return null;
  for (const box of boxesIn(moov, entry.body + 28, Math.min(entry.end, moov.length)))
    if (box.type === 'alac' && box.body + 10 <= box.end) return moov[box.body + 9];
  return null;
}

/** The order of feeding: as it lies when the index comes before the sound; else the index right after the first box. */
function indexFirst(
  boxes: readonly Box[],
  index: Box,
  moov: Uint8Array,
  tracks: readonly Track[],
): FeedPart[] {
  const fileEnd = boxes.at(-1)?.end ?? index.end;
  const first = boxes[0];
  const sound = boxes.find((box) => box.type === 'mdat');
  if (!sound || sound.start > index.start) return [{ start: first.start, end: fileEnd }];
  const moved = moov.slice();
  const view = viewOf(moved);
  const shift = moov.length;
  for (const table of tracks.flatMap((track) => track.places)) {
    const wide = table.type === 'co64';
    const count = view.getUint32(table.body + 4, false);
    for (let i = 0; i < count; i++) {
      const at = table.body + 8 + i * (wide ? 8 : 4);
      const place = wide ? Number(view.getBigUint64(at, false)) : view.getUint32(at, false);
      if (place >= index.start) continue;
      if (wide) view.setBigUint64(at, BigInt(place + shift), false);
      else view.setUint32(at, place + shift, false);
    }
  }
  return [
    { start: first.start, end: first.end },
    moved,
    { start: first.end, end: index.start },
    { start: index.end, end: fileEnd },
  ];
}
