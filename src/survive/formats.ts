import type { LossyCodec } from '../audio/lossy.ts';
import { choiceLabel } from '../audio/lossy-recipe.ts';
import type { LossyFormat } from './round-trip-result.ts';

function format(codec: LossyCodec, nominalKbps: number): LossyFormat {
  return {
    id: `${codec}-${nominalKbps}`,
    label: choiceLabel({ codec, nominalKbps }),
    codec,
    nominalKbps,
  };
}

/** Every format that can be chosen, by codec and rising rate. Vorbis rates are the nominal ones of its quality steps 2, 5 and 9. */
export const lossyFormats: readonly LossyFormat[] = [
  format('aac', 96),
  format('aac', 128),
  format('aac', 256),
  format('mp3', 128),
  format('mp3', 192),
  format('mp3', 320),
  format('vorbis', 96),
  format('vorbis', 160),
  format('vorbis', 320),
  format('opus', 96),
  format('opus', 128),
  format('opus', 160),
  format('sbc', 328),
];

/** The format of that id ('aac-128'); undefined when there is none. */
export function findFormat(id: string): LossyFormat | undefined {
  return lossyFormats.find((each) => each.id === id);
}

/** What a song is tried in when nobody chose: the formats it most likely meets (common practice). */
export const checkFormats: readonly LossyFormat[] = [
  'aac-128',
  'aac-256',
  'mp3-128',
  'mp3-320',
  'vorbis-160',
  'opus-128',
].map((id) => findFormat(id)!);
