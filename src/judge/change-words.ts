import type { BandChange, SameSong, VersionChange } from '../compare/change-result.ts';
import { clockTime, count, figure, list, sentenceCase, size } from './wording.ts';

// From where a change is worth a sentence (heuristics: about what can be heard when switching back and forth).
const told = { gainLu: 0.1, bandDb: 0.7, sectionDb: 0.7, plrDb: 0.5, rangeLu: 0.5, widthDb: 0.7 } as const;
/** Differences of start below this are a matter of players, s. */
const offsetSeconds = 0.0005;
const driftPpm = 1;
const mostRanges = 4;

/** What changed from the first version to the second, in plain sentences; one sentence why not, when they cannot be compared. */
export function changeSentences({ same, reason }: VersionChange): string[] {
  if (same === null) return [reason ?? ''];
  const said = [
    ...tone(same),
    ...dynamics(same),
    ...width(same),
    ...sections(same),
    ...unlike(same),
    ...length(same),
    ...clock(same),
  ];
  const level = gain(same.gainDb);
  if (said.length === 0) return [level, 'Otherwise nothing changed that could be heard.'];
  return [level, ...said];
}

function gain(gainDb: number): string {
  if (Math.abs(gainDb) < told.gainLu) return 'Both are equally loud.';
  return `It is ${size(gainDb, 'LU')} ${gainDb > 0 ? 'louder' : 'quieter'}; what follows is told at equal loudness.`;
}

export interface BandRange {
  readonly fromHz: number;
  readonly toHz: number;
  /** Mean change over the range, dB. */
  readonly changeDb: number;
}

/** Neighbouring third octaves that changed the same way, those that changed most over most octaves first. */
export function changedRanges({ centresHz, changeDb }: BandChange): BandRange[] {
  const ranges: { first: number; last: number; sum: number }[] = [];
  changeDb.forEach((db, i) => {
    if (db === null || Math.abs(db) < told.bandDb) return;
    const open = ranges.at(-1);
    if (open && open.last === i - 1 && open.sum > 0 === db > 0) {
      open.last = i;
      open.sum += db;
    } else ranges.push({ first: i, last: i, sum: db });
  });
  return ranges
    .sort((a, b) => Math.abs(b.sum) - Math.abs(a.sum))
    .map(({ first, last, sum }) => ({
      fromHz: centresHz[first],
      toHz: centresHz[last],
      changeDb: sum / (last - first + 1),
    }));
}

const hertz = (value: number): string => (value >= 1000 ? `${value / 1000} kHz` : `${value} Hz`);

function rangeText({ fromHz, toHz, changeDb }: BandRange): string {
  const where = fromHz === toHz ? `around ${hertz(fromHz)}` : `from ${hertz(fromHz)} to ${hertz(toHz)}`;
  return `${size(changeDb, 'dB')} ${changeDb > 0 ? 'more' : 'less'} ${where}`;
}

function tone(same: SameSong): string[] {
  const ranges = changedRanges(same.tone).slice(0, mostRanges);
  return ranges.length === 0 ? [] : [`Tone: ${list(ranges.map(rangeText))}.`];
}

function dynamics({ dynamics: { plrDb, rangeLu } }: SameSong): string[] {
  return [
    ...(plrDb !== null && Math.abs(plrDb) >= told.plrDb
      ? [
          plrDb < 0
            ? `The hits stand ${size(plrDb, 'dB')} less above the body of the sound: it was squeezed harder.`
            : `The hits stand ${size(plrDb, 'dB')} more above the body of the sound.`,
        ]
      : []),
    ...(rangeLu !== null && Math.abs(rangeLu) >= told.rangeLu
      ? [
          `Loud and quiet parts lie ${size(rangeLu, 'LU')} ${rangeLu < 0 ? 'closer together' : 'farther apart'}.`,
        ]
      : []),
  ];
}

function width({ width: change }: SameSong): string[] {
  const db = change?.sideToMidDb ?? null;
  if (db === null || Math.abs(db) < told.widthDb) return [];
  return [
    `It is ${db > 0 ? 'wider' : 'narrower'}: what differs between the sides moved by ${size(db, 'dB')}.`,
  ];
}

function sections({ sections: all }: SameSong): string[] {
  const moved = all.filter(({ levelDb }) => Math.abs(levelDb) >= told.sectionDb);
  if (moved.length === 0) return [];
  const parts = moved.map(
    ({ label, startSeconds, levelDb }) =>
      `${label} at ${clockTime(startSeconds)} ${levelDb > 0 ? 'up' : 'down'} by ${size(levelDb, 'dB')}`,
  );
  return [`Sections that moved against the whole: ${list(parts)}.`];
}

function unlike({ unlike: spans }: SameSong): string[] {
  if (spans.length === 0) return [];
  const shown = spans.slice(0, mostRanges).map(({ startSeconds }) => clockTime(startSeconds));
  const more = spans.length - shown.length;
  return [
    `${sentenceCase(count(spans.length, 'place'))} where nothing alike was found, as after an edit or another take: at ${list(more > 0 ? [...shown, count(more, 'more', 'more')] : shown)}.`,
  ];
}

function length({ length: { headSeconds, tailSeconds, headSilent, tailSilent } }: SameSong): string[] {
  const end = (seconds: number, silent: boolean, where: string) => {
    // A shorter silence is told by nobody.
    if (Math.abs(seconds) < (silent ? 0.5 : 0.05)) return [];
    return [
      `${size(seconds, 's', 2)} ${seconds > 0 ? 'more' : 'less'} ${silent ? 'silence' : 'sound'} at the ${where}`,
    ];
  };
  const parts = [...end(headSeconds, headSilent, 'beginning'), ...end(tailSeconds, tailSilent, 'end')];
  return parts.length === 0 ? [] : [`Length: ${list(parts)}.`];
}

function clock({
  alignment: { offsetSeconds: late, driftPpm: drift, inverted, swapped },
}: SameSong): string[] {
  const turned = inverted.flatMap((each, channel) => (each ? [channel + 1] : []));
  return [
    ...(Math.abs(late) >= offsetSeconds
      ? [`It starts ${figure(Math.abs(late) * 1000, 2)} ms ${late > 0 ? 'later' : 'earlier'}.`]
      : []),
    ...(Math.abs(drift) >= driftPpm
      ? [`It plays ${drift > 0 ? 'slower' : 'faster'} by ${figure(Math.abs(drift), 1)} millionths.`]
      : []),
    ...(turned.length === 0
      ? []
      : [
          turned.length === inverted.length
            ? 'Its polarity is flipped.'
            : `The polarity of channel ${list(turned.map(String))} is flipped.`,
        ]),
    ...(swapped ? ['Left and right have changed places.'] : []),
  ];
}
