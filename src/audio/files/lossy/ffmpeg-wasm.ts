import { readFile } from 'node:fs/promises';
import { createRequire } from 'node:module';
import { setImmediate as nextTurn } from 'node:timers/promises';
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

/** The part of the Emscripten module of @ffmpeg/core 0.12 that is used here. */
interface Core {
  exec(...args: string[]): number;
  reset(): void;
  setTimeout(milliseconds: number): void;
  setLogger(logger: (line: { type: string; message: string }) => void): void;
  readonly FS: {
    makedev(major: number, minor: number): number;
    registerDevice(device: number, operations: DeviceOperations): void;
    mkdev(path: string, mode: number, device: number): void;
    readonly ErrnoError: new (errno: number) => Error;
  };
}

interface DeviceOperations {
  open(): void;
  close(): void;
  read(stream: unknown, heap: Int8Array, offset: number, length: number): number;
  write(stream: unknown, heap: Int8Array, offset: number, length: number, position: number): number;
  llseek?(stream: { readonly position: number }, offset: number, whence: number): number;
}

/** A compiled module; opaque. */
type CompiledModule = { readonly compiled: unique symbol };

/** The part of the WebAssembly global used here; neither ES2023's nor Node's types have it. */
interface WebAssemblyApi {
  compile(bytes: Uint8Array): Promise<CompiledModule>;
  instantiate(module: CompiledModule, imports: object): Promise<object>;
}

type CreateCore = (options: {
  instantiateWasm: (imports: object, receive: (instance: object) => void) => Record<string, never>;
}) => Promise<Core>;

/** What flows through the two devices while a run lasts. */
interface Flow {
  readonly input: ByteSource;
  readonly output: ByteSink;
  readonly run: Run;
  taken: number;
  /** One past the last byte that was written. */
  written: number;
}

/** SEEK_CUR and SEEK_END of the C library. */
const fromHere = 1;
const fromEnd = 2;
/** ESPIPE of Emscripten's C library: cannot be gone back in. */
const noSeek = 70;

const { WebAssembly } = globalThis as unknown as { WebAssembly: WebAssemblyApi };
const require = createRequire(import.meta.url);
const inputPath = '/sound-in';
const outputPath = '/sound-out';
/** Runs after which an instance is replaced: FFmpeg's program was not written to be run twice, and leaks a little. */
const runsPerInstance = 40;

/**
 * FFmpeg as WebAssembly (@ffmpeg/core), in the thread that calls. Sound streams through two devices in its file
 * system, so that it is never held whole a second time. The instance is replaced after a failure: a trapped module
 * is in no state to be used again.
 */
export class WasmFfmpeg implements Ffmpeg {
  readonly signature: string;
  readonly #module: CompiledModule;
  #core: Core | null;
  #runs = 0;
  #flow: Flow | null = null;
  #said: string[] = [];

  private constructor(module: CompiledModule, core: Core) {
    this.#module = module;
    this.#core = core;
    this.#adopt(core);
    core.exec('-version');
    this.signature = readSignature(this.#said.join('\n')) ?? 'Lavc (version unknown)';
  }

  static async open(): Promise<WasmFfmpeg> {
    const module = await WebAssembly.compile(await readFile(require.resolve('@ffmpeg/core/wasm')));
    return new WasmFfmpeg(module, await instantiate(module));
  }

  async exec(args: readonly string[], input: ByteSource, output: ByteSink, run: Run): Promise<void> {
    if (!this.#core || this.#runs >= runsPerInstance) {
      this.#core = await instantiate(this.#module);
      this.#adopt(this.#core);
    }
    // The run itself blocks the thread: let what waits in it (an abort, say) come first.
    await nextTurn();
    run.signal?.throwIfAborted();
    this.#runs++;
    this.#flow = { input, output, run, taken: 0, written: 0 };
    this.#said = [];
    const core = this.#core;
    core.reset();
    core.setTimeout(timeLimitMs(input));
    const paths = args.map((arg) => (arg === inputMark ? inputPath : arg === outputMark ? outputPath : arg));
    let status: number;
    try {
      status = core.exec(...quiet, ...paths);
    } catch (error) {
      this.#core = null;
      throw ffmpegFailed('a trap', [...this.#said, String(error)], error);
    } finally {
      this.#flow = null;
    }
    run.signal?.throwIfAborted();
    if (status !== 0) {
      this.#core = null;
      throw ffmpegFailed(`exit code ${status}`, this.#said);
    }
  }

  free(): void {
    this.#core = null;
  }

  #adopt(core: Core): void {
    this.#runs = 0;
    core.setLogger(({ message }) => {
      // Printed at the end of every run, good or bad.
      if (message !== 'Aborted()') this.#said.push(message);
    });
    const { FS } = core;
    const nothing = () => {};
    const device = (path: string, minor: number, operations: Partial<DeviceOperations>) => {
      const id = FS.makedev(64, minor);
      FS.registerDevice(id, { open: nothing, close: nothing, read: () => 0, write: () => 0, ...operations });
      FS.mkdev(path, 0o666, id);
    };
    device(inputPath, 1, {
      read: (_stream, heap, offset, length) => {
        const flow = this.#flow;
        // An abort looks like the end of the input, so that the program ends by itself and can be run again.
        if (!flow || flow.run.signal?.aborted) return 0;
        const bytes = flow.input.next(length);
        heap.set(bytes, offset);
        flow.taken += bytes.length;
        flow.run.progress?.(Math.min(1, flow.taken / flow.input.byteLength));
        return bytes.length;
      },
    });
    device(outputPath, 2, {
      write: (_stream, heap, offset, length, position) => {
        const flow = this.#flow;
        const bytes = new Uint8Array(heap.buffer, heap.byteOffset + offset, length);
        if (!flow?.output.pushAt) flow?.output.push(bytes);
        else {
          flow.output.pushAt(bytes, position);
          flow.written = Math.max(flow.written, position + length);
        }
        return length;
      },
      llseek: (stream, offset, whence) => {
        const flow = this.#flow;
        if (!flow?.output.pushAt) throw new FS.ErrnoError(noSeek);
        return offset + (whence === fromHere ? stream.position : whence === fromEnd ? flow.written : 0);
      },
    });
  }
}

async function instantiate(module: CompiledModule): Promise<Core> {
  const create = require('@ffmpeg/core') as CreateCore;
  // Built for a browser's worker, it reads `self.location` once, while it is called. Left in place, `self` would make
  // other libraries believe that this is a browser.
  const global = globalThis as { self?: unknown };
  const had = Object.getOwnPropertyDescriptor(globalThis, 'self');
  Object.defineProperty(globalThis, 'self', { value: { location: { href: '' } }, configurable: true });
  try {
    // Emscripten never settles its own promise when instantiation fails (no memory left, say).
    return await new Promise((resolve, reject) => {
      create({
        instantiateWasm: (imports, receive) => {
          WebAssembly.instantiate(module, imports).then(receive, reject);
          return {};
        },
      }).then(resolve, reject);
    });
  } finally {
    if (had) Object.defineProperty(globalThis, 'self', had);
    else delete global.self;
  }
}
