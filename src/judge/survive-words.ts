import type { CeilingFigures } from '../survive/find-ceiling.ts';
import type { LossyFormat } from '../survive/round-trip-result.ts';
import type { FormatFigures } from '../survive/survive-format.ts';
import type { SurviveEstimate, SurviveReport } from '../survive/survive-report.ts';
import { clockTime, count, figure, list, sentenceCase, signed, size, withUnit } from './wording.ts';

/** From here on a figure is worth a word (heuristics of this project). */
const worthLostHz = 1500;
const worthLostBelowHz = 18_500;
const worthNarrowerDb = 1;
const worthSmeared = 0.2;

/** To which side a codec's figure leans, where that is known; else an empty text. */
export function leaningOf({ codec, then }: LossyFormat): string {
  const first = {
    aac: 'AAC encoders differ. This one, as set here, came out 0.1 to 0.7 dB above another well-known encoder on real music at 128 kb/s, so its figure leans to the safe side.',
    mp3: 'Coded with LAME; older MP3 encoders may throw higher peaks.',
    vorbis: '',
    opus: '',
    sbc: 'Sent at half level, because this coder clips at 16 bit; real headphones get a signal that may have been clipped before.',
  }[codec];
  const second = then ? 'Between the two codings nothing is clipped here; a real player may clip there.' : '';
  return [first, second].filter(Boolean).join(' ');
}

/** One to three plain sentences on what a format did to the song. */
export function formatSentence(figures: FormatFigures, limitDbtp: number): string {
  const sentences = [peakSentence(figures, limitDbtp), levelSentence(figures), damageSentence(figures)];
  return sentences.filter(Boolean).join(' ');
}

function peakSentence({ truePeakDbtp, growthDb, overs, clip }: FormatFigures, limitDbtp: number): string {
  if (truePeakDbtp === null) return 'Silence comes out as silence.';
  const peak = `Peaks come out at ${signed(truePeakDbtp, 'dBTP', 2)}`;
  const growth =
    growthDb === null
      ? ''
      : Math.abs(growthDb) < 0.05
        ? ', as high as they went in'
        : `, ${size(growthDb, 'dB', 2)} ${growthDb > 0 ? 'higher' : 'lower'} than they went in`;
  if (truePeakDbtp <= 0) {
    const room =
      truePeakDbtp <= limitDbtp
        ? 'nothing is cut off.'
        : `above the ${signed(limitDbtp, 'dBTP')} that you allow, though nothing is cut off.`;
    return `${peak}${growth}: ${room}`;
  }
  const cut =
    clip.samples === 0
      ? 'no sample passes full scale, only the wave between them does'
      : `a 16-bit player cuts ${count(clip.samples, 'sample')} (${milliseconds(clip.seconds)} in all, ${milliseconds(clip.longestSeconds)} at the longest)`;
  return `${peak}${growth}, over full scale at ${count(overs, 'place')}; ${cut}.`;
}

/** What the level change of playback does to the overs; nothing when there are none. */
function levelSentence({ truePeakDbtp, atTargets }: FormatFigures): string {
  if (truePeakDbtp === null || truePeakDbtp <= 0) return '';
  const known = atTargets.filter(({ levelChangeDb }) => levelChangeDb !== null);
  const safe = known.find(({ cannotClip }) => cannotClip);
  if (!safe) {
    const quietest = known.at(-1);
    return quietest
      ? `Even where it is brought to ${figure(quietest.targetLufs, 0)} LUFS its peaks stay above full scale.`
      : '';
  }
  const change = safe.levelChangeDb ?? 0;
  return `Where it is brought to ${figure(safe.targetLufs, 0)} LUFS it is turned ${change <= 0 ? 'down' : 'up'} ${size(change, 'dB')} and cannot clip.`;
}

function damageSentence({ bandwidth, stereo, preEcho }: FormatFigures): string {
  const damages: string[] = [];
  const { lostHz, afterHz } = bandwidth;
  if (lostHz !== null && afterHz !== null && lostHz >= worthLostHz && afterHz < worthLostBelowHz)
    damages.push(`everything above ${withUnit(afterHz / 1000, 'kHz')} is gone`);
  const band = stereo?.worstBand;
  if (stereo?.sideChangeDb && Math.abs(stereo.sideChangeDb) >= worthNarrowerDb)
    damages.push(
      `the sides are ${size(stereo.sideChangeDb, 'dB')} ${stereo.sideChangeDb < 0 ? 'quieter' : 'louder'}`,
    );
  else if (band && Math.abs(band.sideChangeDb) >= 3 * worthNarrowerDb)
    damages.push(
      `between ${bandText(band.lowHz)} and ${bandText(band.highHz)} the sides are ${size(band.sideChangeDb, 'dB')} ${band.sideChangeDb < 0 ? 'quieter' : 'louder'}`,
    );
  if (
    preEcho.onsets > 0 &&
    preEcho.smeared / preEcho.onsets >= worthSmeared &&
    preEcho.worstAtSeconds !== null
  )
    damages.push(
      `noise runs ahead of ${preEcho.smeared} of ${count(preEcho.onsets, 'sharp onset')}, most at ${clockTime(preEcho.worstAtSeconds)}`,
    );
  return damages.length === 0 ? '' : `${sentenceCase(list(damages))}.`;
}

function bandText(hz: number): string {
  return hz >= 1000 ? withUnit(hz / 1000, 'kHz', hz % 1000 === 0 ? 0 : 1) : withUnit(hz, 'Hz', 0);
}

function milliseconds(seconds: number): string {
  const ms = seconds * 1000;
  return ms >= 1000 ? withUnit(seconds, 's') : withUnit(ms, 'ms', ms < 1 ? 2 : ms < 10 ? 1 : 0);
}

/** The quick answer in words; it says that it is one. */
export function estimateSentence(estimate: Omit<SurviveEstimate, 'sentence'>, limitDbtp: number): string {
  const highest = estimate.formats.reduce<(typeof estimate.formats)[number] | null>(
    (most, each) => ((each.truePeakDbtp ?? -1e9) > (most?.truePeakDbtp ?? -1e9) ? each : most),
    null,
  );
  if (!highest || highest.truePeakDbtp === null) return 'Estimate: silence; nothing to survive.';
  const from = `from ${count(estimate.passages.length, 'passage')}, ${withUnit(estimate.share * 100, '%', 0)} of the song`;
  if (estimate.highTrimDb === 0)
    return `Estimate ${from}: the coarsest format of each kind stays at or under ${signed(limitDbtp, 'dBTP')}.`;
  const most = `${highest.format} comes out highest, at about ${signed(highest.truePeakDbtp, 'dBTP')} (${signed(highest.lowDbtp ?? 0, 'dBTP')} to ${signed(highest.highDbtp ?? 0, 'dBTP')})`;
  const trim =
    estimate.trimDb === 0
      ? `perhaps no trim is needed, at most about ${withUnit(estimate.highTrimDb, 'dB')}`
      : `about ${withUnit(estimate.trimDb, 'dB')} of trim would be needed (${withUnit(estimate.lowTrimDb, 'dB')} to ${withUnit(estimate.highTrimDb, 'dB')})`;
  return `Estimate ${from}: ${most}; ${trim}.`;
}

/** Ceilings closer than this are one answer, dB: people set ceilings to a tenth. */
const oneAnswerDb = 0.1;
/** Jumps from level to level that are worth a word, dB (heuristic). */
const worthJumpDb = 0.2;

/** What ceiling survives what, the safest first; at most three sentences and the moments' reason. */
export function ceilingAnswers(ceiling: CeilingFigures): string[] {
  const { formats, ceilingDbtp, trimDb, limitDbfs } = ceiling;
  if (formats.length === 0 || ceilingDbtp === null) return [];
  const all = formats.length === 1 ? formats[0].format : 'everything you chose';
  const limit = `at or under ${signed(limitDbfs, 'dBTP')}`;
  if (trimDb === 0)
    return [`As it is, ${signed(ceilingDbtp, 'dBTP', 2)}, it survives ${all}: it decodes ${limit}.`];
  const decides = ceiling.decidedBy === null || formats.length === 1 ? '' : ` ${ceiling.decidedBy} decides.`;
  const first = ceiling.verified
    ? `A ceiling of ${signed(ceilingDbtp, 'dBTP', 2)} survives ${all}: turn it down by ${withUnit(trimDb, 'dB', 2)}.${decides} A last encode of every format at this level stayed ${limit}.`
    : `A ceiling of ${signed(ceilingDbtp, 'dBTP', 2)} is the best that was found, but not every format could be shown to stay ${limit} there.`;
  const answers = [first];
  const rising = [...formats].sort((a, b) => b.trimDb - a.trimDb);
  let told = trimDb;
  for (let i = 1; i < rising.length && answers.length < 4; i++) {
    if (told - rising[i].trimDb < oneAnswerDb) continue;
    told = rising[i].trimDb;
    const without = rising.slice(0, i).map(({ format }) => format);
    if (without.length > 3) break;
    const level = signed(rising[i].ceilingDbtp, 'dBTP', 2);
    answers.push(
      told === 0
        ? `As it is, ${level}, it survives all but ${list(without)}.`
        : `${level} survives all but ${list(without)}.`,
    );
  }
  const jumpy = formats.reduce((most, each) => ((each.jumpDb ?? 0) > (most.jumpDb ?? 0) ? each : most));
  if ((jumpy.jumpDb ?? 0) >= worthJumpDb)
    answers.push(
      `This holds for the file turned down by exactly that much and written at 24 bits. From level to level the decoded peaks jump, by up to ${withUnit(jumpy.jumpDb ?? 0, 'dB')} in ${jumpy.format}; ${reserve(ceiling)}`,
    );
  return answers;
}

function reserve({ carefulTrimDb, carefulCeilingDbtp, trimDb }: CeilingFigures): string {
  return carefulTrimDb - trimDb < oneAnswerDb || carefulCeilingDbtp === null
    ? 'whoever changes the file again should try it again.'
    : `a ceiling of ${signed(carefulCeilingDbtp, 'dBTP', 2)} (${withUnit(carefulTrimDb, 'dB', 2)} less) leaves room for the highest of them, for a file that is still to be changed, dithered or limited.`;
}

/** The verdict in one sentence. */
export function surviveHeadline(
  { formats, failed, limitDbtp, ceiling, before }: Omit<SurviveReport, 'headline'>,
  asked: number,
): string {
  if (formats.length === 0)
    return failed.length === asked ? 'No format could be tried.' : 'Nothing has been coded yet.';
  const done =
    formats.length + failed.length < asked ? ` so far (${formats.length} of ${asked} formats)` : '';
  const over = formats.filter(
    ({ truePeakDbtp }) => truePeakDbtp !== null && truePeakDbtp > limitDbtp + 0.001,
  );
  const missing = failed.length > 0 ? `; ${count(failed.length, 'format')} could not be tried` : '';
  const limit = signed(limitDbtp, 'dBTP');
  if (before.truePeakDbtp === null) return `Silence survives everything${missing}.`;
  if (over.length === 0) {
    const all = formats.length === 1 ? formats[0].format : allFormats(formats.length);
    return `It survives ${all}${done}: nothing decodes above ${limit}${missing}.`;
  }
  const worst = over.reduce((most, each) =>
    (each.truePeakDbtp ?? 0) > (most.truePeakDbtp ?? 0) ? each : most,
  );
  const trim = ceiling && ceiling.trimDb > 0 ? ` ${withUnit(ceiling.trimDb, 'dB', 2)} less would do` : '';
  const which =
    over.length === formats.length
      ? formats.length === 1
        ? formats[0].format
        : allFormats(formats.length)
      : `${over.length} of ${formats.length} formats`;
  return `${sentenceCase(which)} ${over.length === 1 ? 'decodes' : 'decode'} above ${limit}${done}, ${worst.format} the highest at ${signed(worst.truePeakDbtp ?? 0, 'dBTP', 2)}${missing}.${trim ? `${trim}${ceiling?.verified ? '.' : ', not verified.'}` : ''}`;
}

function allFormats(n: number): string {
  return n === 2 ? 'both formats' : `all ${count(n, 'format')}`;
}
