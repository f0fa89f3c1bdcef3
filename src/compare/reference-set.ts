import type { Measurement } from '../measure/measurement.ts';
import {
  loudestPart,
  type SetFigureId,
  type SetPart,
  sectionParts,
  setCentresHz,
  setFigureIds,
  wholePart,
} from './reference-set-part.ts';
import { type Spread, spreadOf } from './reference-set-spread.ts';

/** How far the references of a set lie apart. */
export interface SetSpread {
  /** Nominal third-octave centres, Hz. */
  readonly centresHz: readonly number[];
  /** Level of each third octave, dB, at equal loudness. */
  readonly bands: readonly Spread[];
  readonly figures: Readonly<Record<SetFigureId, Spread>>;
}

/** What a set needs to know of one reference. */
export interface Reference {
  readonly whole: SetPart;
  readonly loudest: SetPart;
}

/** A set as a version is held against it. */
export interface SetSpreads {
  /** Over whole songs. */
  readonly whole: SetSpread;
  /** Over the loudest section of each. */
  readonly loudest: SetSpread;
  /** How many references went in. */
  readonly count: number;
}

/** A version, or a section of it, and what it is held against. */
export interface PartStanding {
  readonly part: SetPart;
  readonly against: SetSpread;
  /** A section well under the loudest: what is missing from it is likely meant to be. */
  readonly quiet: boolean;
}

/** Where a version stands among the references of a set. */
export interface SetStanding {
  readonly whole: PartStanding;
  /** In order of time. */
  readonly sections: readonly PartStanding[];
  readonly count: number;
}

/**
 * Sections this much under the loudest are held against loudest sections too, LU; quieter ones against whole songs, because
 * a verse is no chorus (heuristic).
 */
const loudSectionLu = 3;

export function referenceOf(measurement: Measurement): Reference {
  return { whole: wholePart(measurement), loudest: loudestPart(measurement) };
}

export function spreadsOf(references: readonly Reference[]): SetSpreads {
  return {
    whole: spreadOfParts(references.map(({ whole }) => whole)),
    loudest: spreadOfParts(references.map(({ loudest }) => loudest)),
    count: references.length,
  };
}

function spreadOfParts(parts: readonly SetPart[]): SetSpread {
  return {
    centresHz: setCentresHz,
    bands: setCentresHz.map((_, band) => spreadOf(parts.map(({ levelsDb }) => levelsDb[band]))),
    figures: Object.fromEntries(
      setFigureIds.map((id) => [id, spreadOf(parts.map(({ figures }) => figures[id]))]),
    ) as Record<SetFigureId, Spread>,
  };
}

/** Holds a version against a set, as a whole and section by section. */
export function standingOf(measurement: Measurement, set: SetSpreads): SetStanding {
  const { sections, loudest } = measurement.sections;
  const loudestLufs = loudest === null ? null : sections[loudest].loudnessLufs;
  return {
    whole: { part: wholePart(measurement), against: set.whole, quiet: false },
    sections: sectionParts(measurement).map((part) => {
      const { integratedLufs } = part.figures;
      const loud: boolean =
        integratedLufs !== null && loudestLufs !== null && integratedLufs >= loudestLufs - loudSectionLu;
      return { part, against: loud ? set.loudest : set.whole, quiet: !loud };
    }),
    count: set.count,
  };
}
