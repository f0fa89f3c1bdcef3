import type { EngineHearing, EngineReport } from '../../src/compare/listening/engine.ts';
import type { SourceWish } from '../../src/compare/listening/source.ts';
import type { FrameLoop } from '../../src/compare/listening/window.ts';

import type { Chain } from '../../src/finish/chain.ts';
import type { PreparedPlace } from './live-makers.ts';
import type { Work } from './work-meter.ts';

/** Name under which the worklet's processor is known. */
export const deskProcessor = 'everyroom-desk';

/** From the page to the worklet. */
export type ToWorklet =
  | { readonly sources: readonly SourceWish<Chain>[]; readonly lengthFrames: number }
  | { readonly sound: string; readonly timelineFrames: number }
  | { readonly sound: string; readonly chunk: number; readonly samples: Float32Array }
  | { readonly choose: string | null }
  | { readonly play: boolean }
  | { readonly seek: number }
  | { readonly loop: FrameLoop | null }
  | { readonly hearing: EngineHearing }
  | { readonly place: PreparedPlace | null; readonly gain: number }
  | { readonly placeGain: number }
  | { readonly noise: boolean };

/** From the worklet to the page, about twenty times a second and after every message. */
export interface FromWorklet extends EngineReport, Work {
  /** The context's frame at which the position holds. */
  readonly frame: number;
  /** How many messages had been heeded. */
  readonly heeded: number;
}
