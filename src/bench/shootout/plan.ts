import { abxPowerSentence, powerSentence } from '../../judge/shootout-words.ts';
import { abxNeeded, abxPower } from '../../shootout/abx.ts';
import { makeRounds, sessionLength } from '../../shootout/make-rounds.ts';
import { mostStimuli } from '../../shootout/rating-screens.ts';
import { runTask, type Workshop } from '../run-task.ts';
import type { ShootoutRecord } from '../store/shootouts.ts';
import { powerTask } from '../tasks/shootout-figures.ts';

/** How large a shoot-out is to be. */
export interface ShootoutSize {
  /** Most listeners that there can be. */
  readonly listeners: number;
  /** Preference: most rounds a listener; ABX: trials. */
  readonly rounds?: number;
}

export interface ShootoutPlan {
  readonly listeners: number;
  /** Of one listener. */
  readonly rounds: number;
  readonly secondsEach: number;
  readonly tooLong: boolean;
  readonly sentences: readonly string[];
}

/** Someone who is right in four of five trials (common practice for planning). */
const trulyRight = 0.8;

/** Why a draft cannot be opened yet, in a sentence; null when it can. */
export function whatIsMissing({
  state,
  kind,
  question,
  entries,
  seed,
  sections,
}: Pick<ShootoutRecord, 'state' | 'kind' | 'question' | 'entries' | 'seed' | 'sections'>): string | null {
  if (state !== 'draft') return null;
  if (kind === 'abx' && entries.length !== 2)
    return 'Whether a difference can be heard is asked of exactly two masters.';
  if (entries.length < 2) return 'A shoot-out needs at least two masters.';
  const most = kind === 'rating' ? mostStimuli - (question === 'damage' ? 3 : 0) : 26;
  if (entries.length > most) return `So many masters cannot be compared at once: ${most} at most.`;
  const [first] = makeRounds({ kind, question, seed, sections, entries }, { listeners: 1 });
  if (first.rounds.length === 0) return 'The sections are too long for a session of 20 minutes.';
  return null;
}

/** Rounds and time of one listener. */
export function sizeOf(
  shootout: ShootoutRecord,
  { listeners, rounds }: ShootoutSize,
): Omit<ShootoutPlan, 'sentences'> {
  // All have as many, and drawing those of one is quick.
  const [first] = makeRounds(shootout, { listeners: 1, rounds });
  const { seconds, tooLong } = sessionLength(first.rounds, shootout.sections);
  return { listeners, rounds: first.rounds.length, secondsEach: seconds, tooLong };
}

/** What a shoot-out of this size can tell apart, before anyone votes. The first time it takes 1 to 20 s in a thread. */
export async function planOf(
  shootout: ShootoutRecord,
  size: ShootoutSize,
  workshop: Workshop,
): Promise<ShootoutPlan> {
  const plan = sizeOf(shootout, size);
  return { ...plan, sentences: [...(await telling(shootout, size, plan, workshop)), ...lengthOf(plan)] };
}

async function telling(
  { kind, entries, sections }: ShootoutRecord,
  { listeners }: ShootoutSize,
  plan: Omit<ShootoutPlan, 'sentences'>,
  workshop: Workshop,
): Promise<string[]> {
  if (kind === 'abx') {
    const power = abxPower(plan.rounds, trulyRight);
    return [abxPowerSentence(plan.rounds, abxNeeded(plan.rounds), trulyRight, power)];
  }
  if (kind === 'rating')
    return [
      'What ratings can tell apart depends on how far listeners agree; it is not worked out beforehand.',
    ];
  const options = { entries: entries.length, listeners, sections: sections.length, rounds: plan.rounds };
  const power = await runTask(powerTask, { files: [], options }, workshop);
  return [powerSentence(power, listeners)];
}

function lengthOf({ tooLong, secondsEach }: Omit<ShootoutPlan, 'sentences'>): string[] {
  const minutes = Math.max(1, Math.round(secondsEach / 60));
  return tooLong
    ? [
        `A listener needs about ${minutes} minutes; after 20 ears are tired. Fewer rounds or shorter sections help.`,
      ]
    : [`A listener needs about ${minutes} ${minutes === 1 ? 'minute' : 'minutes'}.`];
}
