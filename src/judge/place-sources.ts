import { type Place, placeFigures } from '../places/place.ts';
import { type SourceId, sources } from './sources.ts';

/** Where one group of a place's figures comes from, in words. */
export interface PlaceSourceText {
  readonly group: (typeof placeFigures)[number];
  readonly id: string;
  readonly title: string;
  /** No more than a choice of this project. */
  readonly assumption: boolean;
  readonly note: string;
}

const own: Readonly<Record<string, string>> = { measured: 'Measured there', user: 'Set by you' };

/** The sources of a place's figures, in the order of `placeFigures`. */
export function placeSources({ sources: given }: Place): PlaceSourceText[] {
  return placeFigures.map((group) => {
    const { source: id, note } = given[group];
    const known = Object.hasOwn(sources, id) ? sources[id as SourceId] : null;
    return {
      group,
      id,
      title: known?.title ?? own[id] ?? id,
      assumption: id === 'place-assumption',
      note,
    };
  });
}
