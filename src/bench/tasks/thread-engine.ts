import { type EngineChoice, openLossyEngine } from '../../audio/files/lossy/engine.ts';
import type { LossyEngine } from '../../audio/lossy.ts';
import { keyJson } from '../json.ts';

/** A thread keeps its loaded codecs from one task to the next: loading them takes longer than a short song. */
const engines = new Map<string, LossyEngine>();

/** This thread's engine of that choice. */
export function threadEngine(choice: EngineChoice): LossyEngine {
  const key = keyJson(choice);
  let engine = engines.get(key);
  if (!engine) {
    engine = openLossyEngine(choice);
    engines.set(key, engine);
  }
  return engine;
}
