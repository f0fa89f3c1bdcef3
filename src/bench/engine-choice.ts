import { chooseEngine, type EngineChoice, wasmOnly } from '../audio/files/lossy/engine.ts';

let asked: Promise<EngineChoice> | null = null;

/**
 * The engine that codes here: the machine's ffmpeg where it gives the same peaks, found out once a process;
 * EVERYROOM_ENGINE=wasm leaves it alone.
 */
export function engineChoice(): Promise<EngineChoice> {
  if (process.env.EVERYROOM_ENGINE === 'wasm') return Promise.resolve(wasmOnly);
  asked ??= chooseEngine();
  return asked;
}
