import { at } from './scale.ts';

/** Points kept along the axis: about two a drawing unit. */
const mostPoints = 1300;

/** A line through the values that exist; of several per point the one that `keep` picks is drawn, so that no extreme is lost. */
export function linePath(
  series: readonly (number | null)[],
  x: (index: number) => number,
  y: (value: number) => number,
  keep: (...values: number[]) => number = Math.max,
): string {
  const group = Math.max(1, Math.ceil(series.length / mostPoints));
  let text = '';
  let pen = 'M';
  for (let i = 0; i < series.length; i += group) {
    const here = series.slice(i, i + group).filter((value) => value !== null);
    if (here.length === 0) {
      pen = 'M';
      continue;
    }
    text += `${pen}${at(x(i))} ${at(y(keep(...here)))}`;
    pen = 'L';
  }
  return text;
}
