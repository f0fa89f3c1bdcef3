import type { FinishPlan } from '../finish/finish-plan.ts';
import { normalisationTargets } from '../survive/normalisation-targets.ts';
import type { FinishReport, FinishSurvival, LimitingCost, Normalised } from './finish-report.ts';
import { count, figure, list, signed, size, withUnit } from './wording.ts';

const decided: Readonly<Record<FinishPlan['decided'][number], string>> = {
  'limiter-added': 'No limiter held the peaks of what comes out of the chain, so one was put at its end.',
  'dither-added': 'The chain rounds to no word length, so it was rounded here, with triangular dither.',
  'dither-too-early':
    'The chain’s own dither is not its last part; what comes after undoes it, so there is another at the end.',
};

type Told = Pick<FinishReport, 'source' | 'made' | 'ceilingDbtp' | 'loudnessLufs' | 'cost' | 'survive'>;

/** What a finishing came to, a plain sentence each. */
export function finishSentences(report: Told, plan: Pick<FinishPlan, 'decided'>): string[] {
  const { survive, cost } = report;
  return [
    levelSentence(report),
    ...(survive ? [surviveSentence(survive, report.ceilingDbtp)] : []),
    ...(cost ? [costSentence(cost)] : []),
    ...plan.decided.map((each) => decided[each]),
  ];
}

function levelSentence({ source, made, ceilingDbtp, loudnessLufs }: Told): string {
  if (made.integratedLufs === null || made.truePeakDbtp === null)
    return made.truePeakDbtp === null
      ? 'What was written is silence.'
      : `Too short for a loudness; the true peak is ${signed(made.truePeakDbtp, 'dBTP', 2)}.`;
  const asked = loudnessLufs === null ? '' : ` (${withUnit(loudnessLufs, 'LUFS')} was asked for)`;
  const ceiling = ceilingDbtp === null ? '' : ` under a ceiling of ${signed(ceilingDbtp, 'dBTP', 2)}`;
  const change =
    source.integratedLufs === null
      ? ''
      : `, ${size(made.integratedLufs - source.integratedLufs, 'LU')} ${made.integratedLufs < source.integratedLufs ? 'quieter' : 'louder'} than it came`;
  return `${withUnit(made.integratedLufs, 'LUFS', 2)}${asked}${change}; the true peak is ${signed(made.truePeakDbtp, 'dBTP', 2)}${ceiling}.`;
}

function surviveSentence(survive: FinishSurvival, ceilingDbtp: number | null): string {
  const formats = count(survive.formats.length, 'format');
  const limit = survive.limitDbtp === 0 ? 'full scale' : signed(survive.limitDbtp, 'dBTP', 2);
  const failed =
    survive.failed.length === 0
      ? ''
      : ` ${list(survive.failed.map(({ format }) => format))} could not be tried.`;
  const highest = survive.formats.reduce(
    (most, each) => ((each.truePeakDbtp ?? -999) > (most?.truePeakDbtp ?? -999) ? each : most),
    survive.formats[0],
  );
  const nearest =
    highest?.truePeakDbtp === undefined || highest.truePeakDbtp === null
      ? ''
      : `; the highest is ${highest.format} with ${signed(highest.truePeakDbtp, 'dBTP', 2)}`;
  return `These very bytes were coded in ${formats} and came back at or under ${limit}${nearest}. The ceiling of ${signed(ceilingDbtp ?? 0, 'dBTP', 2)} was found with ${count(survive.encodes, 'encode')}.${failed}`;
}

function costSentence({
  crestBeforeDb,
  crestAfterDb,
  onsets,
  reduction,
  errorDb,
  distanceSone,
}: LimitingCost): string {
  const { share, deepestDb, workingDb } = reduction;
  if (deepestDb < 0.01) return 'The limiter had nothing to do: no sample was changed by it.';
  const crest =
    crestBeforeDb === null || crestAfterDb === null
      ? ''
      : ` The crest factor went from ${figure(crestBeforeDb)} to ${withUnit(crestAfterDb, 'dB')}.`;
  const hits =
    onsets.changeDb === null
      ? ''
      : ` ${count(onsets.count, 'onset')} ${onsets.count === 1 ? 'rises' : 'rise'} by ${size(onsets.changeDb, 'dB', 2)} ${onsets.changeDb < 0 ? 'less' : 'more'} on average.`.replace(
          /^ ./,
          (text) => text.toUpperCase(),
        );
  const error = errorDb === null ? '' : ` What it added lies ${size(errorDb, 'dB')} under the sound`;
  const sone =
    distanceSone === null ? '' : `, ${figure(distanceSone, 2)} sone from it in the ear at 70 dB SPL`;
  return `The limiter turned down in ${figure(100 * share.over01Db, share.over01Db < 0.1 ? 1 : 0)} % of the time, by ${withUnit(workingDb, 'dB')} on average there and by ${withUnit(deepestDb, 'dB')} at most.${crest}${hits}${error}${error === '' ? '' : `${sone}.`}`;
}

/** Where a master is brought to when everything is played at one loudness: never up, because its peaks would not bear it. */
export function normalisedOf({
  integratedLufs,
  truePeakDbtp,
}: Pick<FinishReport['made'], 'integratedLufs' | 'truePeakDbtp'>): Normalised[] {
  if (integratedLufs === null) return [];
  return normalisationTargets.map(({ targetLufs, source }) => {
    const turnedByDb = Math.min(0, targetLufs - integratedLufs);
    return {
      targetLufs,
      source,
      turnedByDb,
      playsAtLufs: integratedLufs + turnedByDb,
      truePeakDbtp: truePeakDbtp === null ? null : truePeakDbtp + turnedByDb,
    };
  });
}

/** What a choice between loudnesses comes to. `made` are the candidates that could be made. */
export function choiceSentences(made: readonly Pick<FinishReport, 'made' | 'cost'>[]): string[] {
  const known = made.flatMap(({ made: { integratedLufs }, cost }) =>
    integratedLufs === null ? [] : [{ lufs: integratedLufs, cost }],
  );
  if (known.length < 2) return [];
  const falling = [...known].sort((a, b) => b.lufs - a.lufs);
  const [loudest, quietest] = [falling[0], falling[falling.length - 1]];
  const { targetLufs } = normalisationTargets[0];
  const sentences: string[] = [];
  const brought = falling.filter(({ lufs }) => lufs > targetLufs + 0.05);
  if (brought.length > 0)
    sentences.push(
      `Where every song is played at ${withUnit(targetLufs, 'LUFS', 0)}, ${
        brought.length === known.length
          ? 'all of them are'
          : list(brought.map(({ lufs }) => withUnit(lufs, 'LUFS')))
      } ${brought.length === 1 ? 'is ' : brought.length === known.length ? '' : 'are '}turned down to it, and nothing is left of being louder but what the limiter did.`,
    );
  if (loudest.cost && quietest.cost) {
    const [more, less] = [loudest.cost, quietest.cost];
    if (more.crestAfterDb !== null && less.crestAfterDb !== null)
      sentences.push(
        `${withUnit(loudest.lufs, 'LUFS')} costs ${size(less.crestAfterDb - more.crestAfterDb, 'dB')} of crest factor against ${withUnit(quietest.lufs, 'LUFS')}${
          more.onsets.changeDb === null || less.onsets.changeDb === null
            ? ''
            : `, and its onsets rise by ${size(more.onsets.changeDb - less.onsets.changeDb, 'dB', 2)} less`
        }.`,
      );
  }
  return sentences;
}
