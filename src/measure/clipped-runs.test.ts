import { describe, expect, test } from 'vitest';
import { ClippedRunFinder } from './clipped-runs.ts';

function find(samples: readonly number[], cut = samples.length) {
  const values = Float32Array.from(samples);
  const finder = new ClippedRunFinder(1000, 1);
  finder.look(0, values.subarray(0, cut), 0);
  finder.look(0, values.subarray(cut), cut);
  return finder.finish(values.reduce((peak, x) => Math.max(peak, Math.abs(x)), 0));
}

describe('ClippedRunFinder', () => {
  test('three equal samples at full scale are a run, two are not', () => {
    expect(find([0, 1, 1, 0.2]).clippedRunCount).toBe(0);
    expect(find([0, 1, 1, 1, 0.2])).toEqual({
      clippedRunCount: 1,
      clippedRuns: [{ startSeconds: 0.001, endSeconds: 0.004 }],
    });
  });

  test('a run may lie across blocks, at the end, and below zero', () => {
    for (let cut = 0; cut <= 7; cut++)
      expect(find([0, 0.3, -1, -1, -1, -1, -1], cut)).toEqual({
        clippedRunCount: 1,
        clippedRuns: [{ startSeconds: 0.002, endSeconds: 0.007 }],
      });
  });

  test('opposite signs are two runs', () => {
    expect(find([1, 1, 1, -1, -1, -1]).clippedRunCount).toBe(2);
  });

  test("the file's own ceiling counts above -1 dBFS only", () => {
    expect(find([0, 0.95, 0.95, 0.95, 0]).clippedRunCount).toBe(1);
    expect(find([0, 0.88, 0.88, 0.88, 0]).clippedRunCount).toBe(0);
  });

  test('a run is judged by the peak of the whole file, also when that comes later', () => {
    expect(find([0, 0.93, 0.93, 0.93, 0, 0.98, 0]).clippedRunCount).toBe(0);
    expect(find([0, 0.93, 0.93, 0.93, 0, 0.935, 0]).clippedRunCount).toBe(1);
  });

  test('in a float file over full scale, runs at full scale and at the top both count', () => {
    expect(find([0, 1, 1, 1, 0, 1.4, 1.4, 1.4, 0, 0.97, 0.97, 0.97]).clippedRunCount).toBe(2);
  });

  test('counts all, tells the 200 longest in order of time', () => {
    const samples = Array.from({ length: 5000 }, (_, i) => [0, ...new Array(3 + (i % 5)).fill(1)]).flat();
    const { clippedRunCount, clippedRuns } = find(samples);
    expect(clippedRunCount).toBe(5000);
    expect(clippedRuns).toHaveLength(200);
    for (const { startSeconds, endSeconds } of clippedRuns)
      expect(endSeconds - startSeconds).toBeCloseTo(0.007, 6);
    expect(clippedRuns.map((span) => span.startSeconds)).toEqual(
      clippedRuns.map((span) => span.startSeconds).sort((a, b) => a - b),
    );
  });
});
