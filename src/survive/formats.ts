import { CodedError } from '../audio/coded-error.ts';
import type { LossyChoice, LossyCodec } from '../audio/lossy.ts';
import { choiceLabel, vorbisQuality } from '../audio/lossy-recipe.ts';
import type { LossyFormat } from './round-trip-result.ts';

/** Bit rates that can be asked for, kb/s. */
const rates: Record<LossyCodec, (kbps: number) => boolean> = {
  // Below this AAC-LC is not what music is delivered in; 320 is the usual highest (common practice).
  aac: (kbps) => kbps >= 64 && kbps <= 320,
  // ISO/IEC 11172-3, layer III (from memory).
  mp3: (kbps) => [64, 80, 96, 112, 128, 160, 192, 224, 256, 320].includes(kbps),
  vorbis: (kbps) => vorbisQuality.has(kbps),
  // RFC 6716 §2.1.1 goes from 6 to 510; below 48 it is no longer music in stereo at full band.
  opus: (kbps) => kbps >= 48 && kbps <= 510,
  sbc: (kbps) => kbps >= 192 && kbps <= 512,
};

/** High quality for joint stereo at 44.1 kHz, bit pool 53: Bluetooth A2DP §4.3, table of recommended settings (from memory). */
const sbc: LossyChoice = { codec: 'sbc', nominalKbps: 328 };

function idOf({ codec, nominalKbps }: LossyChoice): string {
  return `${codec}-${nominalKbps}`;
}

function format({ codec, nominalKbps }: LossyChoice, then?: LossyChoice): LossyFormat {
  const first = { codec, nominalKbps };
  if (!then) return { id: idOf(first), label: choiceLabel(first), ...first };
  return {
    id: `${idOf(first)}+${idOf(then)}`,
    label: `${choiceLabel(first)} → ${choiceLabel(then)}`,
    ...first,
    then,
  };
}

const aac = (nominalKbps: number) => format({ codec: 'aac', nominalKbps });
const mp3 = (nominalKbps: number) => format({ codec: 'mp3', nominalKbps });
const vorbis = (nominalKbps: number) => format({ codec: 'vorbis', nominalKbps });
const opus = (nominalKbps: number) => format({ codec: 'opus', nominalKbps });

/**
 * What a song is tried in when lossy coding is the question: of each delivery codec a low, a middle and a high rate
 * (Vorbis: quality steps 2, 5 and 9), what wireless headphones do, and a delivery heard over them.
 */
export const surviveFormats: readonly LossyFormat[] = [
  aac(96),
  aac(128),
  aac(256),
  mp3(128),
  mp3(192),
  mp3(320),
  vorbis(96),
  vorbis(160),
  vorbis(320),
  opus(96),
  opus(128),
  opus(160),
  format(sbc),
  format({ codec: 'aac', nominalKbps: 256 }, sbc),
];

/** What a song is tried in by a check when nobody chose: the formats it most likely meets (common practice). */
export const checkFormats: readonly LossyFormat[] = [
  aac(128),
  aac(256),
  mp3(128),
  mp3(320),
  vorbis(160),
  opus(128),
];

/**
 * The format of an id: 'aac-128', 'mp3-320', 'vorbis-160' or 'vorbis-q5', 'opus-128', 'sbc' (328 kb/s), and two in
 * series as 'aac-256+sbc'. undefined when it is none, or a rate that the codec is not used at.
 */
export function findFormat(id: string): LossyFormat | undefined {
  const [first, then, ...more] = id.split('+').map(findChoice);
  if (!first || more.length > 0) return undefined;
  if (id.includes('+')) return then && format(first, then);
  return format(first);
}

function findChoice(id: string): LossyChoice | undefined {
  if (id === 'sbc') return sbc;
  const match = /^(aac|mp3|vorbis|opus|sbc)-(q?)(\d{1,3})$/.exec(id);
  if (!match) return undefined;
  const codec = match[1] as LossyCodec;
  const number = Number(match[3]);
  if (match[2] === '') return rates[codec](number) ? { codec, nominalKbps: number } : undefined;
  const step = [...vorbisQuality].find(([, quality]) => quality === number);
  return codec === 'vorbis' && step ? { codec, nominalKbps: step[0] } : undefined;
}

/**
 * The formats of a list as a person types it: ids, or a codec's name for all its rates of the usual set, or 'all' for
 * that set; separated by commas. Throws CodedError USAGE that names what was not understood.
 */
export function parseFormats(text: string): LossyFormat[] {
  const words = text
    .toLowerCase()
    .split(/[\s,]+/)
    .filter(Boolean);
  const found = words.flatMap((word): LossyFormat[] => {
    if (word === 'all') return [...surviveFormats];
    const single = findFormat(word);
    if (single) return [single];
    const ofCodec = surviveFormats.filter(({ codec, then }) => codec === word && !then);
    if (ofCodec.length > 0) return ofCodec;
    throw new CodedError(
      'USAGE',
      `“${word}” is no format that can be tried; aac-128, mp3-320, vorbis-q5, opus-128, sbc and aac-256+sbc are.`,
    );
  });
  if (found.length === 0) throw new CodedError('USAGE', 'No format was named.');
  return found.filter((each, i) => found.findIndex(({ id }) => id === each.id) === i);
}
