import { count, list, sentenceCase, signed, size, withUnit } from '../../judge/wording.ts';
import { consistencyFigures, playerLufs } from '../consistency.ts';
import type { DeliveryResult } from '../delivery-result.ts';
import { fullTitle } from '../planned-file.ts';
import { type DeliveryProfileId, deliveryProfileOf } from '../profiles/profiles.ts';

/** A length as people say it: '3:07', '1:02:45'. */
export function lengthText(seconds: number): string {
  const whole = Math.round(seconds);
  const pad = (n: number) => String(n).padStart(2, '0');
  const minutes = Math.floor(whole / 60) % 60;
  const hours = Math.floor(whole / 3600);
  return hours > 0 ? `${hours}:${pad(minutes)}:${pad(whole % 60)}` : `${minutes}:${pad(whole % 60)}`;
}

/** Where a delivery stands, in a sentence. */
export function headlineOf({ state, files, open, exceptions, record, seconds }: DeliveryResult): string {
  const what = `“${record.title}”: ${count(record.songs.length, 'song')}, ${lengthText(seconds)}`;
  const taken =
    exceptions.length === 0
      ? ''
      : ` ${sentenceCase(count(exceptions.length, 'exception'))} ${exceptions.length === 1 ? 'was' : 'were'} taken on.`;
  if (state === 'planned')
    return `${what}; ${count(files.length, 'file')} would be written.${open.length === 0 ? ' Nothing stands in the way.' : ` ${sentenceCase(count(open.length, 'thing'))} to mend first, or to take on.`}`;
  if (state === 'refused')
    return `${what}. Not delivered: ${count(open.length, 'thing')} not met. No file has got its name.`;
  return `${what}. ${sentenceCase(count(files.length, 'file'))} delivered, each read back from the disk and held against its contract.${taken}`;
}

/** What the songs' figures say, and how the record will be played. */
export function consistencySentences({
  consistency,
  record,
}: Pick<DeliveryResult, 'consistency' | 'record'>): string[] {
  const { songs, recordGainDb, intendedSpreadLu, bySongSpreadLu } = consistency;
  const sentences = songs.flatMap(({ suggestions, from }, i) =>
    consistencyFigures.flatMap(({ id, label, unit }) => {
      const suggestion = suggestions[id];
      const distance = from[id];
      if (suggestion === undefined || distance === null) return [];
      const name = label.split(':')[0].toLowerCase();
      return [
        `Song ${i + 1}, “${fullTitle(record.songs[i])}”: ${name} lies ${size(distance, unit === 'LUFS' ? 'LU' : unit)} ${distance > 0 ? 'above' : 'below'} the middle of the record. ${signed(suggestion, 'dB')} would bring it near, unless it is meant so.`,
      ];
    }),
  );
  if (recordGainDb !== null)
    sentences.push(
      `A player that keeps a record together brings its loudest song to ${withUnit(playerLufs.loudestOfRecord, 'LUFS', 0)} (AES TD1008, from a summary) and turns all songs by ${signed(recordGainDb, 'dB')}: what is meant to be quieter stays quieter.`,
    );
  if (intendedSpreadLu !== null && bySongSpreadLu !== null)
    sentences.push(
      `One that turns each song to ${withUnit(playerLufs.song, 'LUFS', 0)} leaves ${size(bySongSpreadLu, 'LU')} of the ${size(intendedSpreadLu, 'LU')} between the loudest and the quietest song.`,
    );
  return sentences;
}

/** What was turned down, and by how much: a sentence for all profiles of one ceiling. */
export function turnedDownSentences({ turnedDown }: DeliveryResult): string[] {
  const together = new Map<number, string[]>();
  for (const { profileId, gainDb } of turnedDown) {
    const { name } = deliveryProfileOf(profileId as DeliveryProfileId);
    together.set(gainDb, [...(together.get(gainDb) ?? []), name]);
  }
  return [...together].map(
    ([gainDb, names]) =>
      `${list(names)}: the whole record is turned down by ${size(gainDb, 'dB', 2)}, so that its highest peak stays under the ceiling. Nothing is limited.`,
  );
}
