import { createRequire } from 'node:module';
import { setImmediate as nextTurn } from 'node:timers/promises';
import { CodedError } from '../../coded-error.ts';
import type { CodedSound } from '../../lossy.ts';
import { frameCount, type Pcm } from '../../pcm.ts';
import type { Run } from '../../run.ts';
import { inMemory, PcmSink, PcmSource } from './byte-stream.ts';

/** The part of libav.js (variant webcodecs, 6.10) that is used here. Pointers are numbers. */
interface LibAv {
  readonly AV_SAMPLE_FMT_FLT: number;
  LIBAVCODEC_VERSION_INT(): Promise<number>;
  av_log_set_level(level: number): Promise<void>;
  ff_init_encoder(name: string, options: object): Promise<[number, number, number, number, number]>;
  ff_init_decoder(name: string, options: object): Promise<[number, number, number, number]>;
  ff_encode_multi(
    context: number,
    frame: number,
    packet: number,
    frames: object[],
    end: boolean,
  ): Promise<Packet[]>;
  ff_decode_multi(
    context: number,
    packet: number,
    frame: number,
    packets: Packet[],
    options: { fin: boolean; ignoreErrors: boolean },
  ): Promise<{ data: Float32Array; format: number }[]>;
  ff_free_encoder(context: number, frame: number, packet: number): Promise<void>;
  ff_free_decoder(context: number, packet: number, frame: number): Promise<void>;
}

interface Packet {
  readonly data: Uint8Array;
  side_data?: unknown;
}

const require = createRequire(import.meta.url);
const sampleRate = 48_000;
/** 20 ms, the encoder's usual frame (RFC 6716 §2.1.4). */
const frameSize = 960;
const framesPerTurn = 100;
/** AVMEDIA_TYPE_AUDIO and AV_CODEC_ID_OPUS of libavcodec. */
const audioMediaType = 1;
const opusCodecId = 0x1503c;

/** Opus by libopus inside libav.js, encoder and float decoder, in the thread that calls. */
export class OpusWasm {
  readonly #lib: LibAv;
  readonly #encoder: string;

  private constructor(lib: LibAv, codecVersion: number) {
    this.#lib = lib;
    const version = [codecVersion >> 16, (codecVersion >> 8) & 255, codecVersion & 255].join('.');
    this.#encoder = `Lavc${version} libopus`;
  }

  static async open(): Promise<OpusWasm> {
    const { LibAV } = require('@libav.js/variant-webcodecs') as { LibAV(options: object): Promise<LibAv> };
    const lib = await LibAV({ noworker: true, nothreads: true });
    // AV_LOG_FATAL: it would print to the console what a cancelled run leaves behind.
    await lib.av_log_set_level(8);
    return new OpusWasm(lib, await lib.LIBAVCODEC_VERSION_INT());
  }

  /**
   * Encodes and decodes `pcm` (48 kHz, one or two channels). The packets go straight from encoder to decoder, so
   * the pre-skip at the start is not taken off.
   */
  async code(pcm: Pcm, nominalKbps: number, run: Run): Promise<Omit<CodedSound, 'sent'>> {
    const lib = this.#lib;
    const channels = pcm.channels.length;
    // Layouts as FFmpeg's masks: front centre, front left and right.
    const layout = channels === 1 ? 4 : 3;
    const [, encoder, encoderFrame, encoderPacket] = await lib.ff_init_encoder('libopus', {
      ctx: {
        sample_rate: sampleRate,
        channels,
        channel_layout: layout,
        bit_rate: nominalKbps * 1000,
        sample_fmt: lib.AV_SAMPLE_FMT_FLT,
      },
      time_base: [1, sampleRate],
    });
    // The decoder knows the channel count from here alone: without it, mono comes back as stereo.
    const [, decoder, decoderPacket, decoderFrame] = await lib.ff_init_decoder('libopus', {
      codecpar: {
        codec_type: audioMediaType,
        codec_id: opusCodecId,
        sample_rate: sampleRate,
        channels,
        channel_layoutmask: layout,
      },
    });
    try {
      const total = frameCount(pcm);
      const source = new PcmSource(
        inMemory(pcm),
        1,
        frameSize + ((frameSize - (total % frameSize)) % frameSize),
      );
      const sink = new PcmSink(channels, total + 4 * frameSize);
      const blocks = source.byteLength / (4 * channels * frameSize);
      let codedBytes = 0;
      for (let block = 0; block < blocks; block += framesPerTurn) {
        const end = Math.min(blocks, block + framesPerTurn);
        const last = end === blocks;
        const frames = Array.from({ length: end - block }, (_, i) => ({
          data: takeBlock(source, channels),
          format: lib.AV_SAMPLE_FMT_FLT,
          channel_layout: layout,
          channels,
          sample_rate: sampleRate,
          nb_samples: frameSize,
          pts: (block + i) * frameSize,
          ptshi: 0,
        }));
        const packets = await lib.ff_encode_multi(encoder, encoderFrame, encoderPacket, frames, last);
        for (const packet of packets) {
          codedBytes += packet.data.length;
          // It only says how much of the last packet is padding; lengths are made exact after alignment.
          packet.side_data = undefined;
        }
        const decoded = await lib.ff_decode_multi(decoder, decoderPacket, decoderFrame, packets, {
          fin: last,
          ignoreErrors: false,
        });
        for (const { data, format } of decoded) {
          // FFmpeg's own build of this decoder gives clipped 16-bit samples unless asked; this one gives float.
          if (format !== lib.AV_SAMPLE_FMT_FLT)
            throw new CodedError('CODEC_FAILED', 'The Opus decoder did not give floating-point samples.');
          sink.push(new Uint8Array(data.buffer, data.byteOffset, data.byteLength));
        }
        run.progress?.(end / blocks);
        await nextTurn();
        run.signal?.throwIfAborted();
      }
      return {
        encoder: this.#encoder,
        settings: `-b:a ${nominalKbps}k`,
        codedBytes,
        decoded: sink.finish(sampleRate),
      };
    } finally {
      await lib.ff_free_encoder(encoder, encoderFrame, encoderPacket);
      await lib.ff_free_decoder(decoder, decoderPacket, decoderFrame);
    }
  }
}

function takeBlock(source: PcmSource, channels: number): Float32Array {
  const block = new Uint8Array(4 * channels * frameSize);
  for (let at = 0; at < block.length; ) {
    const bytes = source.next(block.length - at);
    block.set(bytes, at);
    at += bytes.length;
  }
  return new Float32Array(block.buffer);
}
