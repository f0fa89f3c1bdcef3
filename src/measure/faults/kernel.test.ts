import fc from 'fast-check';
import { expect, test } from 'vitest';
import { doubles, floats, instantiateKernels, integers, levelCellFrames } from '../../signal/kernels.ts';
import { bitsOfGrid } from './sample-grid.ts';

const samples = (minLength: number, maxLength: number) =>
  fc
    .array(fc.oneof(fc.double({ min: -2, max: 2, noNaN: true }), fc.constant(0), fc.constant(0.25)), {
      minLength,
      maxLength,
    })
    .map((values) => Float32Array.from(values));

test('scanFaults does what its plain twin does: peaks, bends and their sums by cell, sum, squares and grid', () => {
  fc.assert(
    fc.property(samples(3, 200), (x) => {
      const kernels = instantiateKernels();
      const pointer = kernels.allocate(x.byteLength + 16);
      floats(kernels, pointer, x.length).set(x);
      const [peaks, bends, sums, totals] = [64, 64, 64, 16].map((bytes) => kernels.allocate(bytes));
      const frames = x.length - 3;
      const total = kernels.scanFaults(pointer + 12, frames, peaks, bends, sums, totals);
      const inner = [...x.subarray(3)];
      const bend = (n: number) => Math.abs(x[n + 3] - 3 * x[n + 2] + 3 * x[n + 1] - x[n]);
      expect(total).toBeCloseTo(
        inner.reduce((sum, value) => sum + value, 0),
        4,
      );
      expect(doubles(kernels, totals + 8, 1)[0]).toBeCloseTo(
        inner.reduce((sum, value) => sum + value * value, 0),
        4,
      );
      for (let cell = 0; cell * levelCellFrames < frames; cell++) {
        const of = inner.slice(cell * levelCellFrames, (cell + 1) * levelCellFrames);
        const bent = of.map((_, i) => bend(cell * levelCellFrames + i));
        expect(floats(kernels, peaks, cell + 1)[cell]).toBe(Math.max(...of.map(Math.abs)));
        expect(floats(kernels, bends, cell + 1)[cell]).toBeCloseTo(Math.max(...bent), 5);
        expect(floats(kernels, sums, cell + 1)[cell]).toBeCloseTo(
          bent.reduce((sum, value) => sum + value, 0),
          3,
        );
      }
      const isFiner = inner.some((value) => !Number.isInteger(value * 2 ** 23));
      expect(integers(kernels, totals, 2)[1] !== 0).toBe(isFiner);
    }),
  );
});

test('the grid of whole numbers of bits is found whatever they are', () => {
  fc.assert(
    fc.property(
      fc.integer({ min: 1, max: 24 }),
      fc.array(fc.integer({ min: -(2 ** 22), max: 2 ** 22 }), { minLength: 1, maxLength: 80 }),
      (bits, values) => {
        const steps = 2 ** (bits - 1);
        const whole = values.map((value) => Math.round((value / 2 ** 22) * (steps - 1)));
        // One odd number makes sure that the last bit is in use.
        const x = Float32Array.from([...whole, 1], (value) => value / steps);
        const kernels = instantiateKernels();
        const pointer = kernels.allocate(x.byteLength + 16) + 16;
        floats(kernels, pointer, x.length).set(x);
        const room = kernels.allocate(64);
        kernels.scanFaults(pointer, x.length, room, room + 16, room + 32, room + 48);
        expect(bitsOfGrid(integers(kernels, room + 48, 1)[0])).toBe(bits);
      },
    ),
  );
});

test('sumBoxes sums as many samples in a row as it is told, and leaves out a rest', () => {
  fc.assert(
    fc.property(samples(0, 300), fc.constantFrom(1, 2, 4, 8, 16, 32, 64), (x, size) => {
      const kernels = instantiateKernels();
      const pointer = kernels.allocate(x.byteLength + 16);
      floats(kernels, pointer, x.length).set(x);
      const sums = kernels.allocate(x.byteLength + 16);
      kernels.sumBoxes(pointer, x.length, size, sums);
      const boxes = Math.floor(x.length / size);
      const got = floats(kernels, sums, boxes + 1);
      for (let box = 0; box < boxes; box++)
        expect(got[box]).toBeCloseTo(
          x.subarray(box * size, (box + 1) * size).reduce((sum, value) => sum + value, 0),
          4,
        );
      expect(got[boxes]).toBe(0);
    }),
  );
});
