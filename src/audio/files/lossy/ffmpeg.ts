import { CodedError } from '../../coded-error.ts';
import type { Run } from '../../run.ts';
import type { ByteSink, ByteSource } from './byte-stream.ts';

/** Stands in an argument list where the input or the output of the run goes. */
export const inputMark = '{input}';
export const outputMark = '{output}';

/** One FFmpeg, wherever it runs. */
export interface Ffmpeg {
  /** Version of its libavcodec as it signs files: 'Lavc59.37.100'. */
  readonly signature: string;
  /**
   * Runs it once: `input` in, the output to `output`.
   * `run.progress` follows the bytes of the input. Rejects with CodedError CODEC_FAILED when it does not end well,
   * or with `run.signal.reason`.
   */
  exec(args: readonly string[], input: ByteSource, output: ByteSink, run: Run): Promise<void>;
  free(): void;
}

/** Arguments every run begins with. */
export const quiet = ['-hide_banner', '-nostats', '-v', 'error'] as const;

/** Reads 'Lavc59.37.100' out of what `ffmpeg -version` prints; null when it is something else that printed. */
export function readSignature(versionText: string): string | null {
  const match = /^libavcodec\s+(\d+)\.\s*(\d+)\.\s*(\d+)/m.exec(versionText);
  return match && `Lavc${match[1]}.${match[2]}.${match[3]}`;
}

/** What is thrown when a run did not end well; `said` is what FFmpeg printed. */
export function ffmpegFailed(status: string, said: readonly string[], cause?: unknown): CodedError {
  const words = said
    .map((line) => line.trim())
    .filter(Boolean)
    .slice(-3)
    .join(' ');
  return new CodedError('CODEC_FAILED', `The codec stopped with ${status}${words ? `: ${words}` : '.'}`, {
    cause,
  });
}

/** Most time a run may take, milliseconds: far above what any machine needs, so that only a hang meets it. */
export function timeLimitMs(input: ByteSource): number {
  return 60_000 + (input.byteLength / 2 ** 20) * 5_000;
}
