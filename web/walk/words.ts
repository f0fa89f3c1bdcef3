import type { WideBandName } from '../../src/measure/wide-bands.ts';
import type { WalkScale } from '../../src/places/walk-scales.ts';
import type { WalkDetail } from '../../src/server/walk-api.ts';

/** The areas of a walk where there is room for a word. */
export const areaWords: Record<WideBandName, string> = {
  low: 'bass',
  lowMid: 'low mid',
  mid: 'mid',
  presence: 'presence',
  air: 'air',
};

const scaleWords: Record<WalkScale, string> = {
  ...areaWords,
  voice: 'voice',
  width: 'width',
  loudness: 'loudness',
};

/** 'too much bass', 'presence right'. */
export function tapWords(scale: WalkScale, value: number): string {
  const name = scaleWords[scale];
  if (value === 0) return `${name} right`;
  const much = value > 0;
  if (scale === 'voice') return much ? 'voice too far in front' : 'voice too far back';
  if (scale === 'width') return much ? 'too wide' : 'too narrow';
  if (scale === 'loudness') return much ? 'too loud' : 'too quiet';
  return `too ${much ? 'much' : 'little'} ${name}`;
}

/** What of one sound was tapped as wrong; where nothing is, that it is right. */
export function tapsWords({ scales, words }: WalkDetail['stops'][number]['song']): string {
  const tapped = Object.entries(scales) as [WalkScale, number][];
  const wrong = tapped.filter(([, value]) => value !== 0).map(([scale, value]) => tapWords(scale, value));
  const told = wrong.length > 0 ? wrong.join(', ') : tapped.length > 0 ? 'nothing wrong' : 'not noted';
  return words === null ? told : `${told}; “${words}”`;
}
