import type { SourceId } from '../../judge/sources.ts';
import { count, withUnit } from '../../judge/wording.ts';
import type { Measurement } from '../../measure/measurement.ts';
import { type AlbumPlan, trackCuts } from '../assembly/album-plan.ts';
import { disc } from '../assembly/disc.ts';
import { type Side, sideMinutes } from '../assembly/sides.ts';
import type { DeliveryProfile } from '../profiles/profile.ts';
import type { ReleaseRecord } from './record.ts';

/** Something to know before anything is written. */
export interface RecordFinding {
  /** 'isrc@3': what, and of which song or file; an exception names it so. */
  readonly id: string;
  /** must: the delivery is not done with it, unless somebody takes it on. know: good to know. */
  readonly weight: 'must' | 'know';
  readonly sentence: string;
  readonly source: SourceId | null;
}

/** Largest artwork that is taken, bytes, and its least side, pixels (common practice). */
export const artworkLimits = { mostBytes: 10 * 2 ** 20, leastPixels: 1400, mostPixels: 6000 } as const;

export interface Artwork {
  readonly mimeType: 'image/jpeg' | 'image/png' | null;
  readonly bytes: number;
  readonly width: number | null;
  readonly height: number | null;
}

/** What the words and the artwork lack. */
export function wordFindings(
  record: ReleaseRecord,
  profiles: readonly DeliveryProfile[],
  artwork: Artwork | null,
): RecordFinding[] {
  const findings: RecordFinding[] = [];
  const say = (
    id: string,
    weight: RecordFinding['weight'],
    sentence: string,
    source: SourceId | null = null,
  ) => findings.push({ id, weight, sentence, source });
  const codes = profiles.filter(({ wantsCodes }) => wantsCodes);
  if (codes.length > 0) {
    const who = codes.map(({ name }) => name).join(', ');
    for (const [i, { title, isrc }] of record.songs.entries())
      if (isrc === '')
        say(
          `isrc@${i + 1}`,
          'must',
          `Song ${i + 1}, “${title}”, has no ISRC; wanted for: ${who}.`,
          'iso-3901',
        );
    if (record.barcode === '')
      say('barcode', 'must', `The record has no UPC or EAN; wanted for: ${who}.`, 'gs1-ean');
  }
  const isrcs = record.songs.map(({ isrc }) => isrc);
  for (const [i, isrc] of isrcs.entries())
    if (isrc !== '' && isrcs.indexOf(isrc) < i)
      say(
        `isrc-twice@${i + 1}`,
        'must',
        `Song ${i + 1} has the ISRC of song ${isrcs.indexOf(isrc) + 1}; every recording has its own.`,
        'iso-3901',
      );
  for (const [i, { title, writers }] of record.songs.entries())
    if (writers.length === 0)
      say(`writers@${i + 1}`, 'know', `Nobody is named as writer of song ${i + 1}, “${title}”.`);
  if (record.releaseDate === '')
    say('date', 'know', 'The record has no release date; files carry none then.');
  if (record.kind === 'single' && record.songs.length > 3)
    say(
      'kind',
      'know',
      `A single with ${count(record.songs.length, 'song')} is usually called an EP or an album (common practice).`,
    );
  if (artwork) artworkFindings(artwork, say);
  return findings;
}

function artworkFindings(
  { mimeType, bytes, width, height }: Artwork,
  say: (id: string, weight: RecordFinding['weight'], sentence: string, source?: SourceId) => void,
): void {
  const { mostBytes, leastPixels, mostPixels } = artworkLimits;
  const source = 'artwork-practice';
  if (mimeType === null)
    say('artwork', 'must', 'The artwork is neither a JPEG nor a PNG; export it as one of them.', source);
  else if (bytes > mostBytes)
    say(
      'artwork',
      'must',
      `The artwork is too large, ${withUnit(bytes / 2 ** 20, 'MiB')}; at most ${mostBytes / 2 ** 20} MiB are taken.`,
      source,
    );
  else if (
    width !== null &&
    height !== null &&
    (width !== height || width < leastPixels || width > mostPixels)
  )
    say(
      'artwork-size',
      'know',
      `The artwork is ${width} by ${height} pixels; shops want a square of ${leastPixels} to ${mostPixels}.`,
      source,
    );
}

/** What a disc cannot hold. */
export function discFindings(plan: AlbumPlan): RecordFinding[] {
  const findings: RecordFinding[] = [];
  const seconds = plan.frames / plan.sampleRate;
  for (const [i, { from, to }] of trackCuts(plan).entries()) {
    const length = (to - from) / plan.sampleRate;
    if (length < disc.leastTrackSeconds)
      findings.push({
        id: `disc-track@${i + 1}`,
        weight: 'must',
        sentence: `Track ${i + 1} of the disc lasts ${withUnit(length, 's', 2)}; a disc wants at least ${disc.leastTrackSeconds} s. Join it to its neighbour.`,
        source: 'disc-limits',
      });
  }
  if (seconds > disc.usualMostSeconds)
    findings.push({
      id: 'disc-length',
      weight: 'must',
      sentence: `The record lasts ${withUnit(seconds / 60, 'min')}; a disc holds at most ${withUnit(disc.usualMostSeconds / 60, 'min')}.`,
      source: 'disc-limits',
    });
  else if (seconds > disc.mostSeconds)
    findings.push({
      id: 'disc-long',
      weight: 'know',
      sentence: `The record lasts ${withUnit(seconds / 60, 'min')}, longer than the 74.5 min that every disc holds; ask the plant.`,
      source: 'disc-limits',
    });
  return findings;
}

/** Side over mid below 120 Hz above which a cutter will want the low end in mono, dB, and sibilance over the middle (both heuristic). */
const widestLowDb = -10;
const loudestSibilanceDb = -6;

/** What a lacquer may not take: cautions, never refusals. The cutting room has the last word. */
export function vinylFindings(
  sides: readonly Side[],
  sampleRate: number,
  songs: readonly Measurement[],
): RecordFinding[] {
  const source = 'record-heuristic';
  const findings: RecordFinding[] = [];
  for (const { name, from, to } of sides) {
    const minutes = (to - from) / sampleRate / 60;
    if (minutes > sideMinutes.at33)
      findings.push({
        id: `side@${name}`,
        weight: 'know',
        sentence: `Side ${name} lasts ${withUnit(minutes, 'min')}; over ${sideMinutes.at33} min at 33⅓ it has to be cut quieter (common practice).`,
        source,
      });
    else if (minutes > sideMinutes.at45)
      findings.push({
        id: `side-45@${name}`,
        weight: 'know',
        sentence: `Side ${name} lasts ${withUnit(minutes, 'min')}: too long for 45 turns, good for 33⅓ (common practice).`,
        source,
      });
  }
  for (const [i, { stereo, tone }] of songs.entries()) {
    const low = stereo?.bands[0]?.sideToMidDb ?? null;
    if (low !== null && low > widestLowDb)
      findings.push({
        id: `wide-low@${i + 1}`,
        weight: 'know',
        sentence: `The low end of song ${i + 1} is wide (side ${withUnit(low, 'dB')} to mid); a cutter will want it in mono, or the needle jumps. The part “width” does that.`,
        source,
      });
    const at = (from: number, to: number) =>
      tone.levelsDb
        .filter((level, k) => level !== null && tone.centresHz[k] >= from && tone.centresHz[k] <= to)
        .map(Number);
    const [high, middle] = [at(5000, 10_000), at(500, 2000)];
    if (high.length === 0 || middle.length === 0) continue;
    const over = Math.max(...high) - Math.max(...middle);
    if (over > loudestSibilanceDb)
      findings.push({
        id: `sibilance@${i + 1}`,
        weight: 'know',
        sentence: `Song ${i + 1} is strong between 5 and 10 kHz (${withUnit(over, 'dB')} to its middle); esses may spit on a lacquer, above all near its centre.`,
        source,
      });
  }
  return findings;
}
