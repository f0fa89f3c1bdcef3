import { trackCuts } from '../assembly/album-plan.ts';
import type { DeliveryResult } from '../delivery-result.ts';
import { fullTitle } from '../planned-file.ts';
import { type DeliveryProfileId, deliveryProfileOf } from '../profiles/profiles.ts';
import { printedIsrc } from '../record/check-digits.ts';
import { lengthText, turnedDownSentences } from './record-words.ts';

/** A page for whoever gets the delivery, in plain text: what it is, what lies where, how it is checked. */
export function notesText(result: DeliveryResult): string {
  const { record, files, texts, plan, sides, exceptions, seconds, findings } = result;
  const cuts = plan ? trackCuts(plan) : [];
  const rate = plan?.sampleRate ?? 1;
  const profiles = [...new Set(files.map(({ profileId }) => profileId))];
  const lines = [
    `${record.title}`,
    `${record.artist}`,
    [
      record.catalogNumber,
      record.label,
      record.releaseDate,
      record.barcode === '' ? '' : `UPC/EAN ${record.barcode}`,
    ]
      .filter(Boolean)
      .join(', '),
    '',
    `${record.songs.length} songs, ${lengthText(seconds)}`,
    '',
    ...record.songs.map((song, i) => {
      const cut = cuts[i];
      const length = cut ? lengthText((cut.to - cut.from) / rate) : '';
      const code = song.isrc === '' ? 'no ISRC' : printedIsrc(song.isrc);
      return `${String(i + 1).padStart(2)}  ${fullTitle(song)}  ${length}  ${code}${song.writers.length === 0 ? '' : `  (${song.writers.join(', ')})`}`;
    }),
    '',
    ...profiles.flatMap((id) => {
      const { name, about } = deliveryProfileOf(id as DeliveryProfileId);
      const own = [...files, ...texts]
        .filter((file) => file.name.startsWith(`${id}/`))
        .map((file) => `  ${file.name}`);
      return [`${name}. ${about}`, ...own, ''];
    }),
    ...(sides
      ? [
          ...sides.sides.map(
            ({ name, from, to }) => `Side ${name}: ${lengthText((to - from) / sides.sampleRate)}`,
          ),
          '',
        ]
      : []),
    ...turnedDownSentences(result),
    ...findings.filter(({ weight }) => weight === 'know').map(({ sentence }) => sentence),
    ...exceptions.map(
      ({ check, by, why }) => `Not met and taken on by ${by}: ${check}${why === '' ? '' : ` (${why})`}`,
    ),
    '',
    'Silence before a song ends the file of the song before it: files played in a row, without a gap of the player, are the record.',
    'Every file was read back from the disk and held against its contract; report.html has every figure.',
    'Whether the files arrived whole: sha256sum -c SHA256SUMS',
    '',
  ];
  return lines.filter((line, i) => line !== '' || lines[i - 1] !== '').join('\n');
}
