import type { Band } from '../finish/equaliser.ts';
import { walkBandsCurve } from '../finish/walk-chain.ts';
import { wideBandNames } from '../measure/wide-bands.ts';
import type { WalkAspect } from '../places/walk-scales.ts';
import type { WalkStopNow } from '../places/walk-shapes.ts';
import { areaWeights, type WalkPrediction } from '../places/walk-solve.ts';
import { walkAreas } from './places-words.ts';
import { count, list, sentenceCase, size } from './wording.ts';

/** Something that was noted and that no equaliser mends. */
export interface OtherComplaint {
  readonly stopId: string;
  readonly text: string;
  /** What might mend it; null where nobody can say. */
  readonly advice: string | null;
}

/** What too little and too much of each is called, and what might help (common practice of mixing and mastering). */
const aspects: Record<
  WalkAspect,
  { readonly little: string; readonly much: string; readonly ifLittle: string; readonly ifMuch: string }
> = {
  voice: {
    little: 'the voice is too far back',
    much: 'the voice is too far in front',
    ifLittle:
      'Its level belongs to the mix: a version with the voice half a dB to one dB louder is worth the asking. On the master, a little more of 1 to 4 kHz in the middle channel brings it forward, with all else that lies there.',
    ifMuch:
      'Its level belongs to the mix: a version with the voice half a dB to one dB softer is worth the asking. On the master, a little less of 1 to 4 kHz in the middle channel sets it back, with all else that lies there.',
  },
  width: {
    little: 'it is too narrow',
    much: 'it is too wide',
    ifLittle:
      'Width is a part of its own in the chain. Check first whether this place plays two sides at all: where it is mono, no width helps.',
    ifMuch: 'Width is a part of its own in the chain: narrow the sides, or only the low ones.',
  },
  loudness: {
    little: 'it is too quiet at the same measured loudness',
    much: 'it is too loud at the same measured loudness',
    ifLittle:
      'All were played equally loud, so this is balance or dynamics: what carries the song may be covered there, or it moves more than the references do. Compression or the areas above might mend it, more level would not.',
    ifMuch:
      'All were played equally loud, so this is balance or dynamics: harshness in the presence, or less movement than the references have. Less limiting might mend it, less level would not.',
  },
};
/** Half a tap and more is a complaint. */
const leastTap = 0.5;

/** Complaints about voice, width and loudness that the references there do not share, and what was written in free words. */
export function otherComplaints(stops: readonly WalkStopNow[]): OtherComplaint[] {
  return stops.flatMap(({ id, name, song, references }): OtherComplaint[] => {
    const told = (Object.keys(aspects) as WalkAspect[]).flatMap((aspect): OtherComplaint[] => {
      const own = song.scales[aspect];
      const theirs = references.flatMap(({ scales }) => scales[aspect] ?? []);
      const place = theirs.length > 0 ? theirs.reduce((sum, tap) => sum + tap, 0) / theirs.length : 0;
      if (own === undefined || Math.abs(own - place) < leastTap) return [];
      const { little, much, ifLittle, ifMuch } = aspects[aspect];
      const less = own < place;
      return [
        {
          stopId: id,
          text: `${name}: ${less ? little : much}.`,
          advice: less ? ifLittle : ifMuch,
        },
      ];
    });
    const words = song.words === null ? [] : [{ stopId: id, text: `${name}: “${song.words}”`, advice: null }];
    return [...told, ...words];
  });
}

/** Less of an area than this is not what a band is for, dB (heuristic). */
const leastPartDb = 0.3;

/**
 * Which wishes ask for a band: those of the areas that it moves, in its direction.
 *
 * @param nameOf a stop's name by its id, as `placeId` of the wishes
 */
export function whyBand(
  band: Band,
  wishes: readonly WalkPrediction[],
  nameOf: (stopId: string) => string,
): string {
  const curve = walkBandsCurve([band]);
  const reasons = wideBandNames.flatMap((area, a) => {
    const part = areaWeights[a].reduce((sum, share, i) => sum + share * curve[i], 0);
    if (Math.abs(part) < leastPartDb) return [];
    const asking = wishes.filter((wish) => wish.area === area && wish.wantedDb * part > 0);
    if (asking.length === 0) return [];
    const names = [...new Set(asking.map(({ placeId }) => nameOf(placeId)))];
    return [`${part < 0 ? 'less' : 'more'} ${walkAreas[area]} asked for in ${list(names)}`];
  });
  if (reasons.length === 0) return 'Helps the other bands to meet the curve.';
  return `${sentenceCase(reasons.join('; '))}.`;
}

interface Balance {
  readonly name: string;
  readonly areas: readonly {
    readonly area: (typeof wideBandNames)[number];
    readonly beforePhon: number | null;
    readonly afterPhon: number | null;
    readonly lowPhon: number | null;
    readonly highPhon: number | null;
  }[];
  readonly outsideBefore: number;
  readonly outsideAfter: number;
}

/** Beyond this an area stands out from the references, phon (heuristic: a fifth louder is about 2.6 phon). */
const standsOutPhon = 2;

/** What a place would hear, in a sentence: what stands out before and what is left of it after. */
export function predictionSentence({ areas }: Balance): string {
  if (areas.every(({ lowPhon }) => lowPhon === null)) return 'No reference to hold it against here.';
  const off = (phon: number | null, { lowPhon, highPhon }: Balance['areas'][number]) =>
    phon === null || lowPhon === null || highPhon === null
      ? 0
      : phon > highPhon
        ? phon - highPhon
        : Math.min(0, phon - lowPhon);
  const parts = areas.flatMap((each) => {
    const [before, after] = [off(each.beforePhon, each), off(each.afterPhon, each)];
    if (Math.max(Math.abs(before), Math.abs(after)) < standsOutPhon) return [];
    const left =
      Math.abs(after) < standsOutPhon
        ? 'then within reach'
        : Math.sign(after) === Math.sign(before)
          ? `then ${size(after, 'phon')}`
          : `then ${size(after, 'phon')} ${after > 0 ? 'more' : 'less'}`;
    return [
      `${walkAreas[each.area]} ${size(before, 'phon')} ${before > 0 ? 'over' : 'under'} your references, ${left}`,
    ];
  });
  return parts.length === 0
    ? 'Balanced as your references are, before and after.'
    : `${sentenceCase(parts.join('; '))}.`;
}

/** What the correction does to all places together. */
export function predictionsSentences(places: readonly Balance[]): string[] {
  if (places.length === 0) return ['The song is silent; nothing can be predicted.'];
  const moved = places.map(({ name, outsideBefore, outsideAfter }) => ({
    name,
    by: outsideAfter - outsideBefore,
  }));
  const better = moved.filter(({ by }) => by < -0.5);
  const worse = moved.filter(({ by }) => by > 0.5);
  return [
    `Of ${count(places.length, 'place')}, ${better.length === 0 ? 'none comes' : `${count(better.length, 'comes', 'come')}`} nearer to your references in balance${worse.length > 0 ? ` and ${count(worse.length, 'goes', 'go')} away from them: ${list(worse.map(({ name }) => name))}` : ' and none goes away from them'}.`,
  ];
}
