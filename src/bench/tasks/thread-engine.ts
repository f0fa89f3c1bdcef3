import { type EngineChoice, openLossyEngine } from '../../audio/files/lossy/engine.ts';
import type { LossyEngine } from '../../audio/lossy.ts';

/** A thread keeps its loaded codecs from one task to the next: loading them takes longer than a short song. */
const engines = new Map<EngineChoice, LossyEngine>();

/** This thread's engine of that choice. */
export function threadEngine(choice: EngineChoice): LossyEngine {
  let engine = engines.get(choice);
  if (!engine) {
    engine = openLossyEngine(choice);
    engines.set(choice, engine);
  }
  return engine;
}
