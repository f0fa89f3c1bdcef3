import { clockTime } from '../../judge/wording.ts';
import { area, type Tick } from './frame.ts';
import { linear, timeTicks } from './scale.ts';

/** Time along the drawing area: the mapping and its ticks ('1:30', tenths only where the steps need them). */
export function timeAxis(seconds: number): { x: (seconds: number) => number; ticks: Tick[] } {
  const x = linear(0, seconds, area.left, area.right);
  const places = timeTicks(seconds);
  const whole = places.every(Number.isInteger);
  return {
    x,
    ticks: places.map((place) => ({
      position: x(place),
      label: whole ? clockTime(place).replace(/\.\d$/, '') : clockTime(place),
    })),
  };
}
