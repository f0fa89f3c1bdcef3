import { CodedError } from './coded-error.ts';
import type { LossyChoice, LossyCodec } from './lossy.ts';

/** Codecs that FFmpeg codes here: all but Opus, whose library comes in another WebAssembly module. */
export type FfmpegCodec = Exclude<LossyCodec, 'opus'>;

/** How one choice is said to FFmpeg. */
export interface FfmpegRecipe {
  /** Name of the encoder in FFmpeg. */
  readonly encoder: string;
  /** Encoder arguments after `-c:a NAME`. */
  readonly encoderArgs: readonly string[];
  /** Muxer: a stream without edit lists or gapless tags, so that nothing is trimmed behind our back. */
  readonly container: string;
  readonly muxerArgs: readonly string[];
  readonly demuxer: string;
  /** Name of the decoder: always one that decodes to float. */
  readonly decoder: string;
  /** The sound is sent at this gain and divided by it after decoding (linear). 1 but for codecs held in 16 bit. */
  readonly gain: number;
  /** Silence sent after the sound so that its end comes out again, frames. */
  readonly tailFrames: number;
}

/**
 * libvorbis speaks of quality, not of rate. Its own nominal rates for 44.1 kHz stereo, kb/s, and the quality step of
 * each (Xiph's table, from memory).
 */
export const vorbisQuality: ReadonlyMap<number, number> = new Map([
  [64, 0],
  [80, 1],
  [96, 2],
  [112, 3],
  [128, 4],
  [160, 5],
  [192, 6],
  [224, 7],
  [256, 8],
  [320, 9],
  [500, 10],
]);

/**
 * The FFmpeg recipe for a choice. Throws CODEC_UNSUITABLE for a Vorbis rate that has no quality step.
 *
 * AAC: the encoder's default search throws far higher peaks than other AAC encoders on hard-limited sound; the
 * 'fast' coder without temporal noise shaping stays close to and above them, so its figure leans to the safe side.
 * SBC: FFmpeg's encoder and decoder work in 16 bit and clip there; half level keeps decoded peaks up to +6 dBFS.
 */
export function ffmpegRecipe(choice: LossyChoice & { codec: FfmpegCodec }): FfmpegRecipe {
  const rate = ['-b:a', `${choice.nominalKbps}k`];
  const plain = { muxerArgs: [], gain: 1, tailFrames: 0 };
  switch (choice.codec) {
    case 'aac':
      return {
        ...plain,
        encoder: 'aac',
        encoderArgs: ['-aac_coder', 'fast', '-aac_tns', '0', ...rate],
        container: 'adts',
        demuxer: 'aac',
        decoder: 'aac',
      };
    case 'mp3':
      return {
        ...plain,
        encoder: 'libmp3lame',
        encoderArgs: rate,
        container: 'mp3',
        demuxer: 'mp3',
        muxerArgs: ['-write_xing', '0', '-id3v2_version', '0'],
        decoder: 'mp3float',
      };
    case 'vorbis': {
      const quality = vorbisQuality.get(choice.nominalKbps);
      if (quality === undefined)
        throw new CodedError(
          'CODEC_UNSUITABLE',
          `Vorbis has no quality step for ${choice.nominalKbps} kb/s.`,
        );
      return {
        ...plain,
        encoder: 'libvorbis',
        encoderArgs: ['-q:a', String(quality)],
        container: 'ogg',
        demuxer: 'ogg',
        decoder: 'vorbis',
      };
    }
    case 'sbc':
      return {
        encoder: 'sbc',
        encoderArgs: rate,
        container: 'sbc',
        demuxer: 'sbc',
        muxerArgs: [],
        decoder: 'sbc',
        gain: 0.5,
        tailFrames: 256,
      };
  }
}

const shownCodec: Record<LossyCodec, string> = {
  aac: 'AAC',
  mp3: 'MP3',
  vorbis: 'Vorbis',
  opus: 'Opus',
  sbc: 'SBC',
};

/** 'AAC 128': the one way a choice is named to people. */
export function choiceLabel(choice: LossyChoice): string {
  return `${shownCodec[choice.codec]} ${choice.nominalKbps}`;
}
