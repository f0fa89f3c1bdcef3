import type { EngineHearing, EngineReport } from '../../src/compare/listening/engine.ts';
import type { SourceWish } from '../../src/compare/listening/source.ts';
import type { FrameLoop } from '../../src/compare/listening/window.ts';

/** Name under which the worklet's processor is known. */
export const deskProcessor = 'everyroom-desk';

/** From the page to the worklet. */
export type ToWorklet =
  | { readonly sources: readonly SourceWish[]; readonly lengthFrames: number }
  | { readonly key: string; readonly timelineFrames: number }
  | { readonly key: string; readonly chunk: number; readonly samples: Float32Array }
  | { readonly choose: string | null }
  | { readonly play: boolean }
  | { readonly seek: number }
  | { readonly loop: FrameLoop | null }
  | { readonly hearing: EngineHearing }
  | { readonly noise: boolean };

/** From the worklet to the page, about twenty times a second and after every message. */
export interface FromWorklet extends EngineReport {
  /** The context's frame at which the position holds. */
  readonly frame: number;
  /** How many messages had been heeded. */
  readonly heeded: number;
}
