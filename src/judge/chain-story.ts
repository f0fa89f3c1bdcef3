import type { Chain, ChainPart } from '../finish/chain.ts';
import type { SettingValues } from '../finish/settings.ts';
import { figure, size, withUnit } from './wording.ts';

/** What a chain to begin from does, a sentence a part, for parts that learnedChain puts in. */
export function learnedChainSentences({ parts }: Chain): string[] {
  return parts.map(sentence);
}

function sentence({ kind, settings }: ChainPart): string {
  if (Array.isArray(settings.bands)) return `Equaliser: ${settings.bands.map(bandWords).join('; ')}.`;
  if (kind === 'trim') return `Trim: ${withUnit(Number(settings.gainDb), 'dB', 1)}.`;
  return `Limiter: ${size(Number(settings.gainDb), 'dB')} louder, into a ceiling of ${withUnit(Number(settings.ceilingDbtp), 'dBTP', 1)}.`;
}

const shapes: Record<string, string> = {
  bell: 'around',
  'low-shelf': 'below',
  'high-shelf': 'above',
};

/** A band of the equaliser: '2.1 dB less below 120 Hz'. */
export function bandWords(settings: SettingValues): string {
  const [shape, hertz, gainDb] = [String(settings.shape), Number(settings.hertz), Number(settings.gainDb)];
  const where = hertz >= 1000 ? `${figure(hertz / 1000, 1)} kHz` : `${hertz} Hz`;
  return `${size(gainDb, 'dB')} ${gainDb < 0 ? 'less' : 'more'} ${shapes[shape] ?? shape} ${where}`;
}
