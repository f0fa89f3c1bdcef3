import { readAiffHeader } from './aiff-header.ts';
import type { ByteSource } from './byte-source.ts';
import { checkFinite } from './check-finite.ts';
import { CodedError } from './coded-error.ts';
import { frameCount, type Pcm } from './pcm.ts';
import { readPcmBlocks } from './pcm-blocks.ts';
import type { Run } from './run.ts';
import type { SoundInfo } from './sound-info.ts';
import { id3v2Length, kindBytes, soundKind } from './sound-kind.ts';
import { readWavHeader } from './wav-header.ts';

/** Sound that was recognised and can be read from its beginning, as often as wanted, one reader at a time. */
export interface SoundStream {
  /** After `blocks` has run to its end: with the true number of frames, and warnings about what was met on the way. */
  readonly info: SoundInfo;
  /** @param lent see readPcmBlocks; decoders give arrays of their own in any case */
  blocks(run?: Run, lent?: boolean): AsyncGenerator<Pcm>;
}

/** Recognises sound by its contents, reads its header and checks that it can be decoded. Throws CodedError. */
export async function openSoundStream(source: ByteSource): Promise<SoundStream> {
  const tagBytes = id3v2Length(await source.read(0, 10));
  const start = tagBytes < source.size ? tagBytes : 0;
  const head = await source.read(start, kindBytes);
  const kind = soundKind(head);
  if (kind === null) throw notRecognised(source.name, head);
  if (kind === 'wav' || kind === 'aiff') {
    const layout = await (kind === 'wav' ? readWavHeader(source, start) : readAiffHeader(source, start));
    const isFloat = layout.coding === 'f32' || layout.coding === 'f64';
    return {
      info: layout.info,
      blocks: (run, lent) => {
        const blocks = readPcmBlocks(source, layout, run, lent);
        // Every integer is a finite number.
        return isFloat ? checked(source.name, blocks) : blocks;
      },
    };
  }
  // Only now: the decoders are larger than everything else that reads sound.
  const { openCodedStream } = await import('./coded-stream.ts');
  const coded = await openCodedStream(source, kind, start);
  return {
    get info() {
      return coded.info;
    },
    blocks: (run) => checked(source.name, coded.blocks(run)),
  };
}

async function* checked(name: string, blocks: AsyncGenerator<Pcm>): AsyncGenerator<Pcm> {
  let frames = 0;
  for await (const block of blocks) {
    checkFinite(name, block, frames);
    frames += frameCount(block);
    yield block;
  }
}

/** Says what the bytes look like instead, where that helps. */
function notRecognised(name: string, head: Uint8Array): CodedError {
  const text = head.length > 0 && head.every((byte) => byte >= 0x20 || (byte >= 9 && byte <= 13));
  const zeros = head.every((byte) => byte === 0);
  const looks = zeros
    ? ': it begins with nothing but zeros, as after a copy or download that did not finish'
    : text
      ? ': it holds text'
      : '';
  return new CodedError(
    'SOUND_NOT_RECOGNISED',
    `“${name}” is no sound file that can be read here${looks}. WAV, AIFF, FLAC, M4A, MP3, AAC, Ogg Vorbis and Opus can.`,
  );
}
