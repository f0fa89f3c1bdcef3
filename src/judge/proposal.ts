import type { SetStanding } from '../compare/reference-set.ts';
import type { Chain } from '../finish/chain.ts';
import type { Band } from '../finish/equaliser.ts';
import type { PartKindId } from '../finish/kinds.ts';
import type { SettingValues } from '../finish/settings.ts';
import { type BandStand, towardReferences } from '../finish/toward-references.ts';
import { bandCentresHz } from '../places/place-curve.ts';
import type { WalkSolution } from '../places/walk-solve.ts';
import { bandWords, partSentence } from './chain-story.ts';
import { walkSentences } from './places-words.ts';
import { bassLossDb } from './rules/stereo.ts';
import { fewReferencesSentence, figureSentences } from './standing-words.ts';
import { whyBand } from './walk-words.ts';
import { figure, list, signed, size } from './wording.ts';

/** What a chain could begin from, to be looked at, heard and refused piece by piece. Nothing is applied by itself. */
export interface Proposal {
  /** What it is, for the history of a chain: begins small, as in 'took over …'. */
  readonly title: string;
  readonly headline: string;
  /** What is to be known beside it. */
  readonly sentences: string[];
  /** What was to be approached, dB; null where nothing is known. Empty where there is no curve. */
  readonly target: { hertz: number; gainDb: number | null }[];
  readonly bands: ProposedBand[];
  readonly parts: ProposedPart[];
}

interface Proposed {
  /** Tells it from the others of its proposal. */
  readonly id: string;
  readonly words: string;
  /** What speaks for it, or against it. */
  readonly why: string | null;
  /** Whether it plainly mends something. */
  readonly advised: boolean;
}

export interface ProposedBand extends Proposed {
  readonly band: SettingValues;
}

export interface ProposedPart extends Proposed {
  readonly kind: PartKindId;
  readonly settings: SettingValues;
}

/** A chain that was found elsewhere, taken apart so that each band and part can be refused. */
export function proposalOfChain(
  { parts }: Chain,
  about: Pick<Proposal, 'title' | 'sentences'> & {
    readonly empty: string;
    readonly target?: Proposal['target'];
  },
): Proposal {
  const bands = parts
    .filter(({ kind }) => kind === 'equaliser')
    .flatMap(({ settings }) => settings.bands as readonly SettingValues[])
    .map(
      (band, i): ProposedBand => ({
        id: `band-${i + 1}`,
        band,
        words: bandWords(band),
        why: null,
        advised: true,
      }),
    );
  const others = parts
    .filter(({ kind }) => kind !== 'equaliser')
    .map(({ id, kind, settings }): ProposedPart => {
      return { id, kind, settings, words: partSentence({ kind, settings }), why: null, advised: true };
    });
  return {
    title: about.title,
    headline: headlineOf(bands, others, about.empty),
    sentences: about.sentences,
    target: about.target ?? [],
    bands,
    parts: others,
  };
}

/** What a walk through places asks for. */
export function proposalOfWalk({
  title,
  solution,
  bands,
  nameOf,
}: {
  readonly title: string;
  readonly solution: WalkSolution;
  readonly bands: readonly Band[];
  /** Of a stop, by its id. */
  readonly nameOf: (stopId: string) => string;
}): Proposal {
  const proposed = bands.map((band, i): ProposedBand => {
    const why = whyBand(band, solution.predictions, nameOf);
    return { id: `band-${i + 1}`, band, words: bandWords(band), why, advised: true };
  });
  return {
    title: `the correction of the walk “${title}”`,
    headline: headlineOf(proposed, [], 'What was noted on this walk asks for no correction.'),
    sentences: walkSentences(solution, nameOf),
    target: bandCentresHz.map((hertz, i) => ({ hertz, gainDb: solution.curveDb[i] })),
    bands: proposed,
    parts: [],
  };
}

/** Of a version toward a reference set. */
export function proposalOfReferences(
  standing: SetStanding,
  about: {
    readonly setName: string;
    readonly strengthPercent: number;
    /** Level the bass loses in mono, dB; null when not known. */
    readonly bassLossDb: number | null;
  },
): Proposal {
  const { whole, count } = standing;
  const { setName, strengthPercent } = about;
  const title = `${figure(strengthPercent, 0)} % of the way to the references “${setName}”`;
  if (count === 0)
    return {
      title,
      headline: 'None of the references in this set has been checked yet, so there is nothing to go by.',
      sentences: [],
      target: [],
      bands: [],
      parts: [],
    };
  const { target, bands, sideDb } = towardReferences(whole, strengthPercent);
  const proposed = bands.map(({ band, stand }, i): ProposedBand => {
    const inside =
      stand !== null && stand.ownDb >= stand.lowerQuarterDb && stand.ownDb <= stand.upperQuarterDb;
    return {
      id: `band-${i + 1}`,
      band,
      words: bandWords(band),
      why: stand && standWords(stand, inside, count),
      advised: stand !== null && !inside,
    };
  });
  const parts: ProposedPart[] = [];
  const lossDb = about.bassLossDb;
  const wideBass = lossDb !== null && lossDb > bassLossDb;
  if (sideDb !== null || wideBass) {
    const percent = Math.round(100 * 10 ** ((sideDb ?? 0) / 20));
    parts.push({
      id: 'width',
      kind: 'width',
      settings: {
        ...(sideDb === null
          ? {}
          : // Wider basses help nobody; narrower ones do no harm.
            { ...(sideDb < 0 ? { lowPercent: percent } : {}), middlePercent: percent, highPercent: percent }),
        ...(wideBass ? { monoBelowHertz: monoBelowHz } : {}),
      },
      words: list([
        ...(sideDb === null ? [] : [`sides ${size(sideDb, 'dB')} ${sideDb < 0 ? 'lower' : 'higher'}`]),
        ...(wideBass ? [`mono below ${monoBelowHz} Hz`] : []),
      ]),
      why: [
        ...(sideDb === null
          ? []
          : figureSentences(whole, count, ['sideToMidDb']).map((told) => told.sentence)),
        ...(wideBass ? [`In mono your bass loses ${size(lossDb, 'dB')}.`] : []),
      ].join(' '),
      advised: true,
    });
  }
  const dynamics = figureSentences(whole, count, ['plrDb', 'rangeLu', 'integratedLufs']).map(
    ({ sentence }) => sentence,
  );
  const few = fewReferencesSentence(count);
  return {
    title,
    headline: headlineOf(
      proposed,
      parts,
      strengthPercent === 0
        ? 'At 0 % nothing is changed.'
        : 'In tone and width you lie so near to these references that nothing is worth a part.',
    ),
    sentences: [
      ...(few === null ? [] : [few]),
      ...dynamics,
      ...(dynamics.length > 0
        ? [
            'Nothing is proposed for loudness and dynamics: a difference of figures does not tell how to make them.',
          ]
        : []),
    ],
    target: [...target],
    bands: proposed,
    parts,
  };
}

/** Where the house's rules say that the low end is best mono, Hz (rule 'wide-bass'). */
const monoBelowHz = 120;

function standWords(
  { ownDb, lowerQuarterDb, upperQuarterDb }: BandStand,
  inside: boolean,
  count: number,
): string {
  const own = signed(ownDb, 'dB');
  if (count === 1) return `Your reference lies there ${size(ownDb, 'dB')} ${ownDb > 0 ? 'lower' : 'higher'}.`;
  const between = `between ${signed(lowerQuarterDb, '')} and ${signed(upperQuarterDb, 'dB')} of their middle`;
  return inside
    ? `You are already where half of your references lie there (${between}, you at ${own}).`
    : `Half of your references lie there ${between}, you at ${own}.`;
}

function headlineOf(bands: readonly Proposed[], parts: readonly Proposed[], empty: string): string {
  const all = [...bands, ...parts];
  if (all.length === 0) return empty;
  const told = all.slice(0, 3).map(({ words }) => words.replace(/\.$/, ''));
  const rest = all.length - told.length;
  const text = list([...told, ...(rest > 0 ? [`${rest} more`] : [])]);
  return `${text.charAt(0).toUpperCase()}${text.slice(1)}.`;
}
