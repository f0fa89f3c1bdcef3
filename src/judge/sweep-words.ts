import { planSweep, type SweepChoice } from '../places/sweep.ts';
import { figure, signed } from './wording.ts';

/** Before a sweep is played, most important first. Local rules and qualified people come before any of it. */
export const sweepCautions: readonly string[] = [
  'Ears: begin with the volume well below talking level; the first, quiet sweep is there to turn it down further. Nobody close to the loudspeaker, no headphones or earphones on an ear.',
  'Loudspeakers: high tones reach the tweeter as a steady tone. Leave the level at −12 dBFS or lower, never play it over a system at its limit, and stop when anything rattles or smells.',
  'Cars: only parked, with the engine off, never while driving.',
  'Other people: not at night, not where someone cannot leave; local rules for noise come first.',
];

/** How a place is measured, in order. */
export const sweepSteps: readonly string[] = [
  'Switch off sound effects, and automatic gain on the recorder if you can.',
  'Put the recorder where your head would be and begin to record.',
  'Play the whole signal: silence, a quiet sweep, the main sweep, silence.',
  'Stop recording a second after it ends. Keep the recording as WAV or FLAC if you can: lossy coding costs accuracy.',
];

/** What a sweep is, and what to be careful of. */
export function aboutSweep(choice: SweepChoice) {
  const { seconds, quiet, main } = planSweep(choice);
  return {
    seconds,
    quietStartSeconds: quiet.startSeconds,
    quietDbfs: quiet.levelDbfs,
    mainStartSeconds: main.startSeconds,
    mainSeconds: main.seconds,
    mainDbfs: main.levelDbfs,
    cautions: [...sweepCautions],
    steps: [...sweepSteps],
  };
}

/** The signal in a sentence. */
export function sweepSentence(about: ReturnType<typeof aboutSweep>): string {
  return `${figure(about.seconds)} s: a quiet sweep at ${signed(about.quietDbfs, 'dBFS', 0)} after ${figure(about.quietStartSeconds)} s, the main one of ${figure(about.mainSeconds)} s at ${signed(about.mainDbfs, 'dBFS', 0)} after ${figure(about.mainStartSeconds)} s.`;
}
