import type { PartStanding, SetSpread, SetStanding } from '../compare/reference-set.ts';
import type { SetFigureId } from '../compare/reference-set-part.ts';
import type { Spread } from '../compare/reference-set-spread.ts';
import { partLabel, standingHeadline, standingSentences } from './standing-words.ts';

/** A spread as it is printed and served: plain arrays. */
export interface SpreadReport {
  centresHz: number[];
  bands: Spread[];
  figures: Record<SetFigureId, Spread>;
}

export interface StandingPartReport {
  label: string;
  startSeconds: number;
  endSeconds: number;
  centresHz: number[];
  levelsDb: (number | null)[];
  against: SpreadReport;
  figures: Record<SetFigureId, number | null>;
  sentences: string[];
}

export interface StandingReport {
  headline: string;
  whole: StandingPartReport;
  sections: StandingPartReport[];
}

/** Where a version stands, with its sentences: what `standing --json` prints and the API serves. */
export function standingReportOf(standing: SetStanding): StandingReport {
  const part = (each: PartStanding) => partReport(each, standing.count);
  return {
    headline: standingHeadline(standing),
    whole: part(standing.whole),
    sections: standing.sections.map(part),
  };
}

export function spreadReport({ centresHz, bands, figures }: SetSpread): SpreadReport {
  return { centresHz: [...centresHz], bands: [...bands], figures };
}

function partReport(standing: PartStanding, references: number): StandingPartReport {
  const { part, against } = standing;
  return {
    label: partLabel(part),
    startSeconds: part.startSeconds,
    endSeconds: part.endSeconds,
    centresHz: [...against.centresHz],
    levelsDb: [...part.levelsDb],
    against: spreadReport(against),
    figures: part.figures,
    sentences: standingSentences(standing, references),
  };
}
