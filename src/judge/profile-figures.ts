import type { Profile, ProfileBounds } from './profile.ts';
import type { Source } from './source.ts';
import { type SourceId, sources } from './sources.ts';
import { list, size, withUnit } from './wording.ts';

/** One figure of a profile as a person reads it. */
export interface ProfileFigure {
  readonly what: string;
  readonly figure: string;
  /** Title of the source and how surely it is known. */
  readonly source: string;
}

const weights = { mend: 'to mend', look: 'worth a look' } as const;

function sourceText(id: SourceId): string {
  const { title, mark }: Source = sources[id];
  return `${title}; ${mark}`;
}

function boundFigures(what: string, bounds: ProfileBounds, unit: string, word: string): ProfileFigure[] {
  return bounds.map(({ severity, limit, source }) => ({
    what: `${what}, ${weights[severity]}`,
    figure: `${word} ${withUnit(limit, unit)}`,
    source: sourceText(source),
  }));
}

/** What a profile asks for, figure by figure, each with its source. */
export function profileFigures(profile: Profile): ProfileFigure[] {
  const { loudness, truePeak, plr, sampleRatesHz, bitDepths, format } = profile;
  const figures: ProfileFigure[] = [];
  if (loudness !== null) {
    const { targetLufs, louderLu, quieterLu } = loudness;
    const within =
      louderLu === quieterLu
        ? `${size(louderLu, 'LU')} either way`
        : `${size(quieterLu, 'LU')} down, ${size(louderLu, 'LU')} up`;
    figures.push({
      what: `loudness, ${weights[loudness.severity]}`,
      figure:
        loudness.by === 'player'
          ? `${withUnit(targetLufs, 'LUFS')} by the player; told from ${within}`
          : `${withUnit(targetLufs, 'LUFS')}, ${within}`,
      source: sourceText(loudness.source),
    });
  }
  figures.push(...boundFigures('true peak', truePeak, 'dBTP', 'above'));
  figures.push(...boundFigures('loudness to peak (PLR)', plr, 'dB', 'below'));
  if (sampleRatesHz !== null)
    figures.push({
      what: `sample rate, ${weights[format.severity]}`,
      figure: `${either(sampleRatesHz.map((hertz) => String(hertz / 1000)))} kHz`,
      source: sourceText(format.source),
    });
  if (bitDepths !== null)
    figures.push({
      what: `bits a sample, ${weights[format.severity]}`,
      figure: either(bitDepths.map(String)),
      source: sourceText(format.source),
    });
  return figures;
}

const either = (parts: readonly string[]): string => list(parts).replace(' and ', ' or ');
