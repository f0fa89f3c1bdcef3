import { choiceLabel } from '../../audio/lossy-recipe.ts';
import { sources } from '../../judge/sources.ts';
import { withUnit } from '../../judge/wording.ts';
import type { DeliveryProfile } from './profile.ts';

const shapes: Record<DeliveryProfile['shape'], string> = {
  songs: 'a file for each song',
  image: 'one file for the record, with a cue sheet',
  sides: 'a file for each side',
  variants: 'a file for each instrumental and clean variant',
  stems: 'a folder of stems for each song',
};

/** What a profile asks for, point by point. */
export function profileTerms(profile: DeliveryProfile): string[] {
  const {
    shape,
    container,
    sampleRate,
    bits,
    lossy,
    ceiling,
    loudness,
    survive,
    bext,
    gridFrames,
    wantsCodes,
  } = profile;
  const rate =
    sampleRate === 'native' ? 'the highest rate among the songs' : withUnit(sampleRate / 1000, 'kHz');
  const titleOf = (source: keyof typeof sources) => sources[source].title;
  return [
    `${shapes[shape]}: ${container === 'MP4' ? 'M4A' : container}, ${lossy ? `${choiceLabel(lossy)} kb/s` : `${bits} bit`}, ${rate}`,
    ...(bits === null ? [] : ['words shortened with triangular dither, or not touched at all']),
    ...(loudness
      ? [
          `${withUnit(loudness.lufs, 'LUFS')} within ${withUnit(loudness.toleranceLu, 'LU')}: ${titleOf(loudness.source)}`,
        ]
      : []),
    ...(ceiling
      ? [
          `true peak at most ${withUnit(ceiling.dbtp, 'dBTP')}: ${titleOf(ceiling.source)}; ${loudness ? 'not turned down for it' : 'the whole record is turned down where it is higher'}`,
        ]
      : []),
    ...(survive
      ? [
          `coded once as ${survive.formatIds.join(', ')}: at most ${withUnit(survive.limitDbtp, 'dBTP')} after decoding`,
        ]
      : []),
    ...(gridFrames > 1 ? [`songs begin on frames of ${gridFrames} samples: ${titleOf('disc-limits')}`] : []),
    ...(bext ? ['a bext chunk with the loudness of the file (EBU Tech 3285)'] : []),
    ...(wantsCodes ? ['an ISRC for every song and a UPC or EAN'] : []),
  ];
}
