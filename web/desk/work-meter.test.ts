import { expect, test } from 'vitest';
import { seeded } from '../../test/seeded-sound.ts';
import { WorkMeter } from './work-meter.ts';

const rate = 48_000;

/** Plays on a clock of whole milliseconds; each block takes so many milliseconds of a core. */
function play(meter: WorkMeter, clock: { ms: number }, seconds: number, each: number, from: number): number {
  const random = seeded(1);
  let frame = from;
  let before = 0;
  for (; frame < from + seconds * rate; frame += 128) {
    meter.measure(frame, () => {
      clock.ms += each;
    });
    // A device asks for blocks a little sooner or later.
    const late = random();
    clock.ms += 128_000 / rate - each + late - before;
    before = late;
  }
  return frame;
}

test('the load is right to a percent on a clock of whole milliseconds, and a device that waited is counted once', () => {
  const clock = { ms: 1000.3 };
  const meter = new WorkMeter(rate, () => Math.floor(clock.ms));
  expect(meter.work).toEqual({ load: null, underruns: 0 });
  let frame = play(meter, clock, 3, 0.4, 0);
  expect(meter.work.load).toBeCloseTo(0.4 / (128_000 / rate), 1);
  expect(meter.work.underruns).toBe(0);
  // The device had nothing to play for 20 ms: its own clock stood still.
  clock.ms += 20;
  frame = play(meter, clock, 3, 2, frame);
  expect(meter.work.underruns).toBe(1);
  expect(meter.work.load).toBeCloseTo(0.75, 1);
  // Stopped and let run again: nothing was missed.
  clock.ms += 60_000;
  play(meter, clock, 3, 0.4, frame);
  expect(meter.work.underruns).toBe(1);
});
