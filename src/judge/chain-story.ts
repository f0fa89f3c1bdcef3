import type { Chain, ChainPart } from '../finish/chain.ts';
import type { SettingValues } from '../finish/settings.ts';
import { figure, size, withUnit } from './wording.ts';

/** What a chain to begin from does, a sentence a part, for parts that learnedChain puts in. */
export function learnedChainSentences({ parts }: Chain): string[] {
  return parts.map(partSentence);
}

/** What one such part does. */
export function partSentence({ kind, settings }: Pick<ChainPart, 'kind' | 'settings'>): string {
  if (Array.isArray(settings.bands)) return `Equaliser: ${settings.bands.map(bandWords).join('; ')}.`;
  if (kind === 'trim') return `Trim: ${withUnit(Number(settings.gainDb), 'dB', 1)}.`;
  return `Limiter: ${size(Number(settings.gainDb), 'dB')} louder, into a ceiling of ${withUnit(Number(settings.ceilingDbtp), 'dBTP', 1)}.`;
}

const shapes: Record<string, string> = {
  bell: 'around',
  'low-shelf': 'below',
  'high-shelf': 'above',
};

/** Narrower and wider than these (as bells) is worth a word (heuristic). */
const plainQ = { from: 0.9, to: 2 } as const;

/** '2.1 dB less around 230 Hz, broad'. */
export function bandWords(settings: SettingValues): string {
  const [shape, gainDb, q] = [String(settings.shape), Number(settings.gainDb), Number(settings.q)];
  const breadth = shape !== 'bell' ? '' : q < plainQ.from ? ', broad' : q > plainQ.to ? ', narrow' : '';
  return `${size(gainDb, 'dB')} ${gainDb < 0 ? 'less' : 'more'} ${shapes[shape] ?? shape} ${hertzWords(Number(settings.hertz))}${breadth}`;
}

/** '230 Hz', '2.3 kHz'. */
export function hertzWords(hertz: number): string {
  return hertz >= 1000 ? `${figure(hertz / 1000, 1)} kHz` : `${figure(hertz, 0)} Hz`;
}
