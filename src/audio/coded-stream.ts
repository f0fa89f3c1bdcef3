import type { ByteSource } from './byte-source.ts';
import type { CodedDecoder, CodedHeader, DecodedPart } from './coded-decoder.ts';
import { CodedError } from './coded-error.ts';
import { type CodedKind, readCodedHeader } from './coded-header.ts';
import { frameCount, type Pcm } from './pcm.ts';
import { blockFrames } from './pcm-blocks.ts';
import { checkChannels, checkSampleRate } from './pcm-layout.ts';
import type { Run } from './run.ts';
import { lengthWarning, type SoundInfo } from './sound-info.ts';

/** Bytes given to a decoder at a time: one second of a 128 kb/s stream, so that what comes back stays small. */
const feedBytes = 16384;

/** Decoded sound of a compressed file. `info` gains the true number of frames when `blocks` has run to its end. */
export interface CodedStream {
  readonly info: SoundInfo;
  blocks(run?: Run): AsyncGenerator<Pcm>;
}

/** Reads the header and decodes the first block, so that what `info` says is what will come. Throws CodedError. */
export async function openCodedStream(
  source: ByteSource,
  kind: CodedKind,
  start: number,
): Promise<CodedStream> {
  const { name } = source;
  const header = await readCodedHeader(source, kind, start);
  const first = await firstBlock(decodeFile(source, header));
  if (!first)
    throw new CodedError(
      'SOUND_TRUNCATED',
      `“${name}” holds no ${header.codec} sound that can be decoded; it is cut short or damaged. Copy or export it again.`,
    );
  checkChannels(name, first.channels.length);
  checkSampleRate(name, first.sampleRate);
  const opened: SoundInfo = {
    container: header.container,
    codec: header.codec,
    sampleRate: first.sampleRate,
    channels: first.channels.length,
    bitDepth: header.bitDepth,
    frames: header.frames,
    warnings: [],
  };
  const stream = {
    info: opened,
    async *blocks(run?: Run): AsyncGenerator<Pcm> {
      let frames = 0;
      // The AAC decoder gives nothing back for its first frame, by design, and counts that as a fault.
      const damage = { faults: header.codec === 'AAC' ? -1 : 0 };
      for await (const block of decodeFile(source, header, run, damage)) {
        if (block.sampleRate !== opened.sampleRate || block.channels.length !== opened.channels)
          throw new CodedError(
            'SOUND_DAMAGED',
            `“${name}” changes its sample rate or number of channels at ${(frames / opened.sampleRate).toFixed(3)} s. Export it as one piece.`,
          );
        frames += frameCount(block);
        yield block;
      }
      stream.info = { ...opened, frames, warnings: warningsOf(opened, frames, damage.faults) };
    },
  };
  return stream;
}

function warningsOf(opened: SoundInfo, frames: number, faults: number): string[] {
  const warnings: string[] = [];
  const seconds = (count: number) => (count / opened.sampleRate).toFixed(3);
  if (opened.frames !== null && opened.frames !== frames)
    warnings.push(lengthWarning(seconds(opened.frames), seconds(frames)));
  if (faults > 0)
    warnings.push(
      `Part of the coded sound is damaged (${faults} places); silence stands in for it or it was left out.`,
    );
  return warnings;
}

async function firstBlock(blocks: AsyncGenerator<Pcm>): Promise<Pcm | null> {
  for await (const block of blocks) return block;
  return null;
}

async function* decodeFile(
  source: ByteSource,
  header: CodedHeader,
  run?: Run,
  damage = { faults: 0 },
): AsyncGenerator<Pcm> {
  const decoder = await header.createDecoder();
  try {
    for await (const bytes of feed(source, header, run))
      yield* blocksOf(await guarded(source.name, header, () => decoder.decode(bytes), damage), header);
    yield* blocksOf(await guarded(source.name, header, () => decoder.flush?.(), damage), header);
  } finally {
    release(decoder);
  }
}

/** A decoder that has failed may fail again when it is freed; the first failure is the one to tell. */
function release(decoder: CodedDecoder): void {
  try {
    decoder.free();
  } catch {
    // Nothing is left to be freed.
  }
}

async function* feed(source: ByteSource, header: CodedHeader, run?: Run): AsyncGenerator<Uint8Array> {
  const total = header.feed.reduce(
    (sum, part) => sum + (part instanceof Uint8Array ? part.length : part.end - part.start),
    0,
  );
  let done = 0;
  for (const part of header.feed) {
    const end = part instanceof Uint8Array ? part.length : Math.min(part.end, source.size);
    let at = part instanceof Uint8Array ? 0 : part.start;
    while (at < end) {
      run?.signal?.throwIfAborted();
      // Bytes made here are the index of an MP4 file: the decoder reads it all over with every piece, so it goes whole.
      const bytes = part instanceof Uint8Array ? part : await source.read(at, Math.min(feedBytes, end - at));
      if (bytes.length === 0) break;
      yield bytes;
      at += bytes.length;
      done += bytes.length;
      run?.progress?.(Math.min(1, done / total));
    }
  }
}

/** Whatever a decoder throws means that the coded bytes are not what they should be. */
async function guarded(
  name: string,
  header: CodedHeader,
  step: () => DecodedPart | Promise<DecodedPart> | undefined,
  damage: { faults: number },
): Promise<DecodedPart | undefined> {
  try {
    const part = await step();
    if (part?.errors) damage.faults += typeof part.errors === 'number' ? part.errors : part.errors.length;
    return part;
  } catch (error) {
    throw new CodedError(
      'SOUND_DAMAGED',
      `The ${header.codec} data in “${name}” cannot be decoded; the file is damaged. Copy or export it again.`,
      { cause: error },
    );
  }
}

/** Blocks of at most 65536 frames, each in buffers of its own. */
function* blocksOf(part: DecodedPart | undefined, header: CodedHeader): Generator<Pcm> {
  const frames = part?.channelData[0]?.length ?? 0;
  if (!part || frames === 0) return;
  const channels = header.mono ? part.channelData.slice(0, 1) : part.channelData;
  for (let at = 0; at < frames; at += blockFrames) {
    const end = Math.min(frames, at + blockFrames);
    yield {
      sampleRate: part.sampleRate,
      channels: channels.map((samples) =>
        samples.byteLength === samples.buffer.byteLength && end - at === samples.length
          ? samples
          : samples.slice(at, end),
      ),
    };
  }
}
