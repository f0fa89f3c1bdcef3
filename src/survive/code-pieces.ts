import { CodedError } from '../audio/coded-error.ts';
import type { LossyEngine, SoundStream } from '../audio/lossy.ts';
import { codedRate } from '../audio/lossy-rate.ts';
import { frameCount, type Pcm, slicePcm } from '../audio/pcm.ts';
import { partOfRun, type Run } from '../audio/run.ts';
import { codeChain, codeStoredChain, cutGrid, remembersAll } from './code-chain.ts';
import { overlappedPieces, type PieceSizes } from './overlapped-pieces.ts';
import type { LossyFormat } from './round-trip-result.ts';
import { turnedDown } from './turned-down.ts';

/** A sound as it streams by, with what is known of it. */
export interface StreamedSound extends SoundStream {
  /** null while unknown. */
  readonly frames: number | null;
}

/** The next stretch of a sound, coded and decoded; the stretches lie end to end. */
export interface CodedPiece {
  /** Both at the coded rate, aligned, of one length. */
  readonly sent: Pcm;
  readonly decoded: Pcm;
  /** Where in the sound they begin, frames at the coded rate. */
  readonly startFrame: number;
  /** How many pieces were coded one by one up to here. */
  readonly pieces: number;
  readonly encoder: string;
  readonly settings: string;
  /** Coded bytes that fall to this stretch. */
  readonly codedBytes: number;
  readonly delays: readonly number[];
}

/** Samples (all channels) of the longest sound coded whole: 6 minutes of stereo at 44.1 kHz, 127 MB. */
export const wholeSamples = 32_000_000;
/**
 * Length of a stretch of longer sounds, and of what is coded with it before and after, seconds. With 10 s of overlap all
 * codecs but AAC gave the peaks of whole coding to the thousandth of a dB where it was measured (docs/survive.md); AAC is
 * coded whole at any length.
 */
const bodySeconds = 180;
const overlapSeconds = 15;

/** How a sound is cut for a format: whole unless it is long; else on the grid of the codec's frames. */
export function pieceSizes(format: LossyFormat, sampleRate: number, channels: number): PieceSizes {
  const grid = cutGrid(format, sampleRate);
  const onGrid = (seconds: number) => Math.ceil((seconds * sampleRate) / grid) * grid;
  return {
    wholeFrames: Math.floor(wholeSamples / channels),
    bodyFrames: onGrid(bodySeconds),
    overlapFrames: onGrid(overlapSeconds),
  };
}

/**
 * Codes and decodes a sound of any length, turned down by `trimDb`: whole in memory, whole from disk or in overlapping
 * pieces. Memory is bounded by the piece. Throws as LossyEngine.code does, and what the blocks throw.
 */
export async function* codePieces(
  sound: StreamedSound,
  format: LossyFormat,
  engine: LossyEngine,
  { trimDb = 0, sizes }: { readonly trimDb?: number; readonly sizes?: PieceSizes },
  run: Run,
): AsyncGenerator<CodedPiece> {
  const { sampleRate, channels } = sound;
  const rate = codedRate(format.codec, sampleRate);
  const cut = sizes ?? pieceSizes(format, sampleRate, channels);
  if (remembersAll(format) && (sound.frames === null || sound.frames > cut.wholeFrames)) {
    yield* codeWholeFromDisk(sound, format, engine, trimDb, run);
    return;
  }
  let delays: readonly number[] | undefined;
  let done = 0;
  let startFrame = 0;
  let pieces = 0;
  for await (const piece of overlappedPieces(sound.blocks, cut)) {
    run.signal?.throwIfAborted();
    const total = Math.max(sound.frames ?? 0, piece.startFrame + piece.bodyEnd);
    const share = (piece.bodyEnd - piece.bodyStart) / total;
    const pcm = turnedDown(piece.pcm, trimDb);
    const coded = await codeChain(pcm, format, engine, partOfRun(run, done, done + 0.85 * share), delays);
    const at = (frame: number) => Math.round((frame * rate) / sampleRate);
    const [from, to] = [at(piece.bodyStart), Math.min(at(piece.bodyEnd), frameCount(coded.sent))];
    const sent = slicePcm(coded.sent, from, to);
    // The delay is the codec's, the same in all pieces; a silent one leaves it open.
    if (sent.channels.some((samples) => samples.some((x) => x !== 0))) delays ??= coded.delays;
    yield {
      sent,
      decoded: slicePcm(coded.decoded, from, to),
      startFrame,
      pieces: ++pieces,
      encoder: coded.encoder,
      settings: coded.settings,
      codedBytes: (coded.codedBytes * (to - from)) / frameCount(coded.sent),
      delays: delays ?? coded.delays,
    };
    startFrame += to - from;
    done = Math.min(1, done + share);
    run.progress?.(done);
  }
  if (startFrame === 0) throw new CodedError('SOUND_NO_SAMPLES', 'There are no samples to encode.');
}

/** Of what lies on disk, so much is handed out at a time, seconds. */
const readSeconds = 60;

async function* codeWholeFromDisk(
  sound: StreamedSound,
  format: LossyFormat,
  engine: LossyEngine,
  trimDb: number,
  run: Run,
): AsyncGenerator<CodedPiece> {
  const stream = { ...sound, blocks: eachTurnedDown(sound.blocks, trimDb) };
  const coded = await codeStoredChain(stream, format, engine, partOfRun(run, 0, 0.85));
  try {
    const { sent, decoded, encoder, settings, delays } = coded;
    const stretch = readSeconds * sent.sampleRate;
    for (let at = 0; at < sent.frames; at += stretch) {
      run.signal?.throwIfAborted();
      const to = Math.min(sent.frames, at + stretch);
      yield {
        sent: sent.read(at, to),
        decoded: decoded.read(at, to),
        startFrame: at,
        pieces: 1,
        encoder,
        settings,
        codedBytes: (coded.codedBytes * (to - at)) / sent.frames,
        delays,
      };
      run.progress?.(0.85 + (0.15 * to) / sent.frames);
    }
  } finally {
    coded.close();
  }
}

async function* eachTurnedDown(blocks: StreamedSound['blocks'], trimDb: number): AsyncGenerator<Pcm> {
  for await (const block of blocks) yield turnedDown(block, trimDb);
}
