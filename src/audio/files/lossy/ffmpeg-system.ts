import { type ChildProcessByStdio, execFile, spawn } from 'node:child_process';
import { once } from 'node:events';
import type { Readable, Writable } from 'node:stream';
import { promisify } from 'node:util';
import type { Run } from '../../run.ts';
import type { ByteSink, ByteSource } from './byte-stream.ts';
import {
  type Ffmpeg,
  ffmpegFailed,
  inputMark,
  outputMark,
  quiet,
  readSignature,
  timeLimitMs,
} from './ffmpeg.ts';
import { ScratchFile } from './scratch-file.ts';

const pieceBytes = 2 ** 18;

/**
 * The machine's own ffmpeg as a child process. Its input comes through a pipe, so that it ends when the thread that feeds
 * it does; its output goes to a file, which costs less than a pipe (docs/survive.md).
 */
export class SystemFfmpeg implements Ffmpeg {
  readonly signature: string;
  readonly #program: string;

  private constructor(program: string, signature: string) {
    this.#program = program;
    this.signature = signature;
  }

  /** The program of that name on the PATH; null when there is none, or when it does not print what FFmpeg prints. */
  static async find(program = 'ffmpeg'): Promise<SystemFfmpeg | null> {
    try {
      const { stdout } = await promisify(execFile)(program, ['-version'], { timeout: 10_000 });
      const signature = readSignature(stdout);
      return signature === null ? null : new SystemFfmpeg(program, signature);
    } catch {
      return null;
    }
  }

  async exec(args: readonly string[], input: ByteSource, output: ByteSink, run: Run): Promise<void> {
    if (output.fd !== undefined) return this.#exec(args, input, output.fd, run);
    const spool = ScratchFile.create();
    try {
      await this.#exec(args, input, spool.fd, run);
      spool.readAll((bytes) => output.push(bytes));
    } finally {
      spool.close();
    }
  }

  async #exec(args: readonly string[], input: ByteSource, outputFd: number, run: Run): Promise<void> {
    run.signal?.throwIfAborted();
    const words = args.map((arg) => (arg === inputMark ? 'pipe:0' : arg === outputMark ? 'pipe:1' : arg));
    const child = spawn(this.#program, [...quiet, ...words], {
      stdio: ['pipe', outputFd, 'pipe'],
      windowsHide: true,
    }) as ChildProcessByStdio<Writable, null, Readable>;
    const stop = () => child.kill('SIGKILL');
    const limit = setTimeout(stop, timeLimitMs(input));
    run.signal?.addEventListener('abort', stop);
    try {
      let said = '';
      child.stderr.on('data', (text) => {
        said = (said + text).slice(-2000);
      });
      // A child that ends early closes its end of the pipe; its exit code tells why, the broken pipe does not.
      child.stdin.on('error', () => {});
      const [[code, signal]] = await Promise.all([once(child, 'close'), feed(child.stdin, input, run)]);
      run.signal?.throwIfAborted();
      if (code !== 0) throw ffmpegFailed(signal ? `signal ${signal}` : `exit code ${code}`, said.split('\n'));
    } catch (error) {
      run.signal?.throwIfAborted();
      throw error;
    } finally {
      clearTimeout(limit);
      run.signal?.removeEventListener('abort', stop);
      stop();
    }
  }

  free(): void {}
}

async function feed(
  stdin: NodeJS.WritableStream & { destroyed?: boolean },
  input: ByteSource,
  run: Run,
): Promise<void> {
  let sent = 0;
  // The source reuses its memory: the next piece is made when this one is out of the stream, and nothing is copied.
  const written = (bytes: Uint8Array): Promise<void> =>
    new Promise((resolve) => {
      stdin.write(bytes, () => resolve());
    });
  while (!stdin.destroyed) {
    const bytes = input.next(pieceBytes);
    if (bytes.length === 0) break;
    await written(bytes);
    sent += bytes.length;
    run.progress?.(Math.min(1, sent / input.byteLength));
  }
  stdin.end();
}
