import type {
  CodedSound,
  LossyChoice,
  LossyCodec,
  LossyEngine,
  ReadablePcm,
  SoundStream,
  StoredCodedSound,
  StoredPcm,
} from '../audio/lossy.ts';
import { codedRate } from '../audio/lossy-rate.ts';
import { frameCount, type Pcm } from '../audio/pcm.ts';
import { partOfRun, type Run } from '../audio/run.ts';
import { confirmDelay } from '../compare/align.ts';
import { shiftPcm, shiftReach } from '../compare/align-shift.ts';
import type { LossyFormat } from './round-trip-result.ts';

/**
 * By how much each codec's decoded stream comes late, samples at the coded rate. It only guides the alignment where
 * the sound itself leaves the choice open (a steady tone, silence); the delay reported is measured.
 * AAC: 1024, one frame of the encoder used here; MP3: 576 of LAME + 528 + 1 of any decoder; Opus: pre-skip 312 at 48 kHz
 * (6.5 ms, RFC 7845 §4.2 asks to carry it; the figure is libopus's); Vorbis: none; SBC: 73 of its filter bank.
 */
export const primingSamples: Record<LossyCodec, number> = {
  aac: 1024,
  mp3: 1105,
  vorbis: 0,
  opus: 312,
  sbc: 73,
};

/**
 * Samples from one frame of each codec to the next. A cut that is a multiple of these is coded on the same grid as
 * the whole. AAC: ISO/IEC 14496-3; MP3: ISO/IEC 11172-3; Opus: 20 ms at 48 kHz, RFC 6716; SBC: 16 blocks of 8
 * sub-bands (all from memory). Vorbis: hop of its long blocks in libvorbis; short blocks in between move its grid.
 */
const frameSamples: Record<LossyCodec, number> = { aac: 1024, mp3: 1152, vorbis: 1024, opus: 960, sbc: 128 };

/**
 * Frames at the sound's own rate between places where it can be cut so that every codec of the chain keeps its grid.
 * 1 at odd rates, where these places would be more than a second apart: then the grid is not kept.
 */
export function cutGrid(format: LossyFormat, sampleRate: number): number {
  const coded = codedRate(format.codec, sampleRate);
  const frames = format.then
    ? leastCommonMultiple(frameSamples[format.codec], frameSamples[format.then.codec])
    : frameSamples[format.codec];
  const grid = (frames * sampleRate) / greatestCommonDivisor(frames * sampleRate, coded);
  return grid > sampleRate ? 1 : grid;
}

function greatestCommonDivisor(a: number, b: number): number {
  return b === 0 ? a : greatestCommonDivisor(b, a % b);
}

function leastCommonMultiple(a: number, b: number): number {
  return (a / greatestCommonDivisor(a, b)) * b;
}

/** Whether the encoder of a format hands something on from frame to frame that never wears off: then a cut changes all. */
export function remembersAll(format: LossyFormat): boolean {
  return format.codec === 'aac' || format.then?.codec === 'aac';
}

/** What came back from all codecs of a format, aligned with what was sent into the first. */
export interface ChainedSound {
  /** The sound at the rate that was coded. */
  readonly sent: Pcm;
  /** Of the same rate and length; float, unclipped. */
  readonly decoded: Pcm;
  readonly encoder: string;
  readonly settings: string;
  /** Bytes of the last codec in the chain. */
  readonly codedBytes: number;
  /** Delay of each codec, samples at the coded rate. */
  readonly delays: readonly number[];
}

/**
 * Encodes and decodes once, or twice for a format with a `then`. Rejects as LossyEngine.code does.
 * @param known delays found in another part of the same sound; they are measured when left out
 */
export async function codeChain(
  pcm: Pcm,
  format: LossyFormat,
  engine: LossyEngine,
  run: Run = {},
  known?: readonly number[],
): Promise<ChainedSound> {
  const share = format.then ? 0.6 : 1;
  const first = await engine.code(pcm, format, partOfRun(run, 0, share));
  const aligned = alignCoded(first, format, known?.[0], run);
  if (!format.then)
    return { ...aligned, encoder: first.encoder, settings: first.settings, codedBytes: first.codedBytes };
  const second = await engine.code(aligned.decoded, format.then, partOfRun(run, share, 1));
  const again = alignCoded(second, format.then, known?.[1], run);
  return {
    sent: first.sent,
    decoded: again.decoded,
    encoder: `${first.encoder}, then ${second.encoder}`,
    settings: `${first.settings}, then ${second.settings}`,
    codedBytes: second.codedBytes,
    delays: [...aligned.delays, ...again.delays],
  };
}

function alignCoded({ sent, decoded }: CodedSound, choice: LossyChoice, known: number | undefined, run: Run) {
  run.signal?.throwIfAborted();
  const priming = primingSamples[choice.codec];
  const delay = known ?? confirmDelay(sent, decoded, priming)?.delaySamples ?? priming;
  return { sent, decoded: shiftPcm(decoded, delay, frameCount(sent)), delays: [delay] };
}

/** As ChainedSound, of a sound too long to hold; `decoded` is aligned. To be closed. */
export type StoredChainedSound = Omit<ChainedSound, 'sent' | 'decoded'> & {
  readonly sent: StoredPcm;
  readonly decoded: ReadablePcm;
  close(): void;
};

/** As codeChain, for a sound of any length, by LossyEngine.codeStored, and it rejects as that does. */
export async function codeStoredChain(
  sound: SoundStream,
  format: LossyFormat,
  engine: LossyEngine,
  run: Run = {},
): Promise<StoredChainedSound> {
  const share = format.then ? 0.6 : 1;
  const first = await engine.codeStored(sound, format, partOfRun(run, 0, share));
  const aligned = alignStored(first, format);
  if (!format.then)
    return {
      ...first,
      ...aligned,
      close() {
        first.sent.close();
        first.decoded.close();
      },
    };
  try {
    const { sampleRate, channelCount: channels } = first.sent;
    const again = { sampleRate, channels, blocks: blocksOf(aligned.decoded) };
    const second = await engine.codeStored(again, format.then, partOfRun(run, share, 1));
    const alignedAgain = alignStored(second, format.then);
    second.sent.close();
    return {
      sent: first.sent,
      decoded: alignedAgain.decoded,
      encoder: `${first.encoder}, then ${second.encoder}`,
      settings: `${first.settings}, then ${second.settings}`,
      codedBytes: second.codedBytes,
      delays: [...aligned.delays, ...alignedAgain.delays],
      close() {
        first.sent.close();
        second.decoded.close();
      },
    };
  } catch (error) {
    first.sent.close();
    throw error;
  } finally {
    first.decoded.close();
  }
}

/** Stretches from which the delay of a stored sound is read, seconds; a silent one leaves it open, the next is taken. */
const delaySeconds = 60;

function alignStored({ sent, decoded }: StoredCodedSound, choice: LossyChoice) {
  const priming = primingSamples[choice.codec];
  const stretch = delaySeconds * sent.sampleRate;
  let delay: number | undefined;
  for (let at = 0; delay === undefined && at < sent.frames; at += stretch) {
    const to = Math.min(sent.frames, at + stretch);
    const until = Math.min(decoded.frames, to + priming + shiftReach);
    delay = confirmDelay(sent.read(at, to), decoded.read(Math.min(at, until), until), priming)?.delaySamples;
  }
  return { decoded: shifted(decoded, delay ?? priming, sent.frames), delays: [delay ?? priming] };
}

/** `sound` earlier by `delay`, of that many frames, as shiftPcm does it. */
function shifted(sound: ReadablePcm, delay: number, frames: number): ReadablePcm {
  const { sampleRate, channelCount } = sound;
  const read = (from: number, to: number): Pcm => {
    const within = (frame: number) => Math.min(sound.frames, Math.max(0, frame));
    const start = within(from + Math.floor(delay) - shiftReach);
    const part = sound.read(start, within(to + Math.ceil(delay) + shiftReach));
    return shiftPcm(part, from + delay - start, to - from);
  };
  return { sampleRate, channelCount, frames, read };
}

const storedBlockFrames = 2 ** 20;

function* blocksOf(sound: ReadablePcm): Generator<Pcm> {
  for (let at = 0; at < sound.frames; at += storedBlockFrames)
    yield sound.read(at, Math.min(sound.frames, at + storedBlockFrames));
}
