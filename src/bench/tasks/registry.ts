import type { Task } from './task.ts';

// Each task has its own options and output; the worker, which only hands them through, need not know them. A thread
// loads only what it is asked to do: measuring does not wait for the encoders.
const known: Readonly<Record<string, () => Promise<Task<never, unknown>>>> = {
  measure: async () => (await import('./measure.ts')).measureTask,
  'round-trip': async () => (await import('./round-trip.ts')).roundTripTask,
  change: async () => (await import('./change.ts')).changeTask,
  'cut-likely': async () => (await import('./quick-peaks.ts')).cutLikelyTask,
  'likely-peak': async () => (await import('./quick-peaks.ts')).likelyPeakTask,
  'warm-codecs': async () => (await import('./quick-peaks.ts')).warmCodecsTask,
  'survive-format': async () => (await import('./survive-format.ts')).surviveFormatTask,
  'coded-peak': async () => (await import('./coded-peak.ts')).codedPeakTask,
  'coded-passage': async () => (await import('./coded-passage.ts')).codedPassageTask,
  align: async () => (await import('./align.ts')).alignTask,
  playback: async () => (await import('./playback.ts')).playbackTask,
  ready: async () => (await import('./ready.ts')).readyTask,
  'fair-cuts': async () => (await import('./fair-cuts.ts')).fairCutsTask,
  'shootout-power': async () => (await import('./shootout-figures.ts')).powerTask,
  'shootout-results': async () => (await import('./shootout-figures.ts')).shootoutResultsTask,
  'chain-look': async () => (await import('./chain-look.ts')).chainLookTask,
  'ready-songs': async () => (await import('./ready-songs.ts')).readySongsTask,
  assemble: async () => (await import('./assemble.ts')).assembleTask,
  'finish-file': async () => (await import('./finish-file.ts')).finishFileTask,
  'place-balance': async () => (await import('./place-balance.ts')).placeBalanceTask,
  'song-bands': async () => (await import('./song-bands.ts')).songBandsTask,
  'lead-bands': async () => (await import('./lead-bands.ts')).leadBandsTask,
  'place-effects': async () => (await import('./place-effects.ts')).placeEffectsTask,
  'measure-place': async () => (await import('./measure-place.ts')).measurePlaceTask,
  'finish-head': async () => (await import('./finish-head.ts')).finishHeadTask,
  'finish-render': async () => (await import('./finish-render.ts')).finishRenderTask,
  'ceiling-step': async () => (await import('./ceiling-step.ts')).ceilingStepTask,
  'chain-loudness': async () => (await import('./chain-loudness.ts')).chainLoudnessTask,
  'keep-decoded': async () => (await import('./keep-decoded.ts')).keepDecodedTask,
};

/** Loads the task of that name; rejects when there is none. */
export async function loadTask(name: string): Promise<Task<never, unknown>> {
  if (!Object.hasOwn(known, name)) throw new Error(`no task '${name}'`);
  return known[name]();
}
