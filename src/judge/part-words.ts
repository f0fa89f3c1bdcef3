import type { ChainPart } from '../finish/chain.ts';
import type { SettingValues } from '../finish/settings.ts';
import { bandWords, hertzWords } from './chain-story.ts';
import { figure, sentenceCase, signed, withUnit } from './wording.ts';

type Numbers = Readonly<Record<string, number>>;
type Words = Readonly<Record<string, string>>;

/** What a part does as it is set, in a line for the list of a chain; what changes nothing says so. */
export function partWords({ kind, settings }: Pick<ChainPart, 'kind' | 'settings'>): string {
  // Settings were read with the fields of their kind.
  return sentenceCase(wordsOf[kind](settings as Numbers, settings as Words, settings));
}

const wordsOf: Readonly<
  Record<ChainPart['kind'], (numbers: Numbers, words: Words, settings: SettingValues) => string>
> = {
  trim: ({ gainDb }, { polarity }) =>
    gainDb === 0 && polarity === 'kept'
      ? neutral
      : joined([gainDb !== 0 && signed(gainDb, 'dB'), polarity === 'turned' && 'polarity turned']),
  'sub-filter': ({ hertz }, { slope }) =>
    hertz === 0 ? 'off' : `takes away what lies below ${hertzWords(hertz)}, ${slope} dB an octave`,
  equaliser: (_n, _w, settings) => {
    const bands = settings.bands as readonly SettingValues[];
    return bands.length === 0 ? 'no band yet' : bands.map(bandLine).join('; ');
  },
  width: ({ monoBelowHertz, lowPercent, middlePercent, highPercent }) =>
    joined([
      monoBelowHertz > 0 && `mono below ${hertzWords(monoBelowHertz)}`,
      (lowPercent !== 100 || middlePercent !== 100 || highPercent !== 100) &&
        `sides at ${figure(lowPercent, 0)}, ${figure(middlePercent, 0)} and ${figure(highPercent, 0)} % (lows, middle, highs)`,
    ]),
  multiband: (_n, _w, { low, middle, high }) =>
    joined([
      dynamicsLine('lows', low as Numbers),
      dynamicsLine('middle', middle as Numbers),
      dynamicsLine('highs', high as Numbers),
    ]),
  compressor: (numbers, { on }) =>
    joined([
      dynamicsLine(on === 'both' ? '' : `on the ${on}`, numbers),
      numbers.sideChainHertz > 0 && `deaf below ${hertzWords(numbers.sideChainHertz)}`,
    ]),
  saturation: ({ driveDb, mixPercent }) =>
    mixPercent === 0 ? neutral : `${figure(mixPercent, 0)} % mixed in, driven by ${signed(driveDb, 'dB')}`,
  rate: (_n, { hertz }) => (hertz === 'as it is' ? 'as it is' : `to ${figure(Number(hertz) / 1000)} kHz`),
  fades: ({ inSeconds, outSeconds, endSeconds }) =>
    joined([
      inSeconds > 0 && `in over ${figure(inSeconds)} s`,
      endSeconds > 0 && `out over ${figure(outSeconds)} s, gone at ${figure(endSeconds)} s`,
    ]),
  limiter: ({ gainDb, ceilingDbtp }) =>
    joined([
      gainDb > 0 && `${figure(gainDb)} dB louder`,
      `no true peak above ${withUnit(ceilingDbtp, 'dBTP')}`,
    ]),
  dither: (_n, { bits, noise, shaper }) =>
    bits === 'off'
      ? 'off'
      : joined([
          `to ${bits} bits`,
          noise === 'triangular' ? 'triangular noise' : 'without noise',
          shaper !== 'none' && `shaped (${shaper})`,
        ]),
};

const neutral = 'changes nothing yet';

/** A band of the equaliser in a line. */
export function bandLine(band: SettingValues): string {
  const { hertz, gainDb } = band as Numbers;
  const { shape, slope, on, phase } = band as Words;
  const what =
    shape === 'low-cut'
      ? `nothing below ${hertzWords(hertz)} (${slope} dB an octave)`
      : shape === 'high-cut'
        ? `nothing above ${hertzWords(hertz)} (${slope} dB an octave)`
        : shape === 'tilt'
          ? `tilted by ${signed(gainDb, 'dB')} about ${hertzWords(hertz)}`
          : bandWords(band);
  return [what, on !== 'both' && `${on} only`, phase === 'linear' && 'linear phase']
    .filter(Boolean)
    .join(', ');
}

function dynamicsLine(of: string, { thresholdDbfs, ratio, makeUpDb, mixPercent }: Numbers): string | false {
  if ((ratio === 1 && makeUpDb === 0) || mixPercent === 0) return false;
  const line = `${figure(ratio)}:1 above ${withUnit(thresholdDbfs, 'dBFS')}`;
  return [
    of === '' ? line : `${of} ${line}`,
    makeUpDb !== 0 && `${signed(makeUpDb, 'dB')} after it`,
    mixPercent !== 100 && `${figure(mixPercent, 0)} % mixed in`,
  ]
    .filter(Boolean)
    .join(', ');
}

function joined(parts: readonly (string | false)[]): string {
  const told = parts.filter((part) => part !== false);
  return told.length === 0 ? neutral : told.join('; ');
}
