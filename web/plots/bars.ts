import type uPlot from 'uplot';

/** Upright bars around each x, `half` to either side in the unit of the axis, from the floor of the plot. */
export function bars(half: number): uPlot.Series.PathBuilder {
  return (u, seriesIdx) => {
    const fill = new Path2D();
    const floor = u.bbox.top + u.bbox.height;
    u.data[0].forEach((x, i) => {
      const value = u.data[seriesIdx]?.[i];
      if (value === null || value === undefined) return;
      const left = u.valToPos(x - half, 'x', true);
      const right = u.valToPos(x + half, 'x', true);
      const top = Math.min(floor, u.valToPos(value, 'y', true));
      fill.rect(left, top, right - left, floor - top);
    });
    return { stroke: fill, fill, flags: 0 };
  };
}
