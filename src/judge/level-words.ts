import type { Calibration } from '../hearing/calibration.ts';
import { dailyAllowance, type Exposure, secondsAllowed } from '../hearing/exposure.ts';
import { figure } from './wording.ts';

/** Listening this long without a break is worth a word, s (common practice: a pause every hour). */
const longSeconds = 60 * 60;
/** A break after at least this much is one after which ears judge anew, s (heuristic). */
const workedSeconds = 20 * 60;
/** How long after a break a reference is offered, s (heuristic). */
const freshSeconds = 3 * 60;
/** A share of an allowance from which it is worth a word (heuristic). */
const nearlyUsed = 0.8;

const defer =
  'These are rough figures, not a measurement: rules where you work go first, and for ringing or dull ears ask someone qualified for hearing.';

/** What to say about how loud and how long was listened, most pressing first; null when nothing needs saying. */
export function levelAdvice(exposure: Exposure, uncertaintyDb: number | null): string | null {
  const { week, today, latestSplDb, sinceBreakSeconds, beforeBreakSeconds } = exposure;
  const [weekShare, todayShare] = [week.shareOfAllowance ?? 0, today.shareOfAllowance ?? 0];
  if (weekShare >= 1)
    return `By these figures the week’s sound allowance is used up (${percent(weekShare)}). Rest your ears, or go on much more quietly. ${defer}`;
  if (todayShare >= 1)
    return `By these figures today’s sound allowance is used up (${percent(todayShare)}). Leave the rest for tomorrow. ${defer}`;
  if (latestSplDb !== null && latestSplDb > dailyAllowance.splDb)
    return `It is about ${figure(latestSplDb, 0)} dBA loud${uncertaintyDb === null ? '' : `, give or take ${figure(uncertaintyDb, 0)}`}: so loud a whole day’s allowance lasts ${duration(secondsAllowed(latestSplDb, dailyAllowance))}. Turn it down for most of the work. ${defer}`;
  if (sinceBreakSeconds >= longSeconds)
    return `You have listened for ${duration(sinceBreakSeconds)} without a pause. Ears tire before one notices: ten minutes of quiet will tell you more than another hour.`;
  if (weekShare >= nearlyUsed) return `${percent(weekShare)} of the week’s sound allowance is used. ${defer}`;
  if (todayShare >= nearlyUsed) return `${percent(todayShare)} of today’s sound allowance is used. ${defer}`;
  if (sinceBreakSeconds > 0 && sinceBreakSeconds <= freshSeconds && beforeBreakSeconds >= workedSeconds)
    return 'Your ears are fresh: play a reference first, so that they know again what finished songs sound like here.';
  return null;
}

/** How loud a sound is where the listener sits; null: it has no loudness, or there is no calibration. */
export function atEarSentence(name: string, splDb: number | null, calibration: Calibration | null): string {
  if (!calibration)
    return 'How loud you listen is not known yet. It takes two minutes to find out roughly, with a phone or with your own voice.';
  const how = calibration.by === 'meter' ? 'by a meter’s reading' : 'by talking over it';
  if (splDb === null) return `The level here is known ${how}, but the chosen sound has no loudness.`;
  return `At your level, ${name} comes to about ${figure(splDb, 0)} dBA where you sit, give or take ${figure(calibration.uncertaintyDb, 0)} (${how}).`;
}

function percent(share: number): string {
  return `${figure(100 * share, 0)} %`;
}

function duration(seconds: number): string {
  const minutes = Math.max(1, Math.round(seconds / 60));
  if (minutes < 60) return minutes === 1 ? 'a minute' : `${minutes} minutes`;
  const hours = Math.floor(minutes / 60);
  const rest = minutes % 60;
  return `${hours} h${rest === 0 ? '' : ` ${rest} min`}`;
}
