import { frameCount, type Pcm } from '../audio/pcm.ts';

/**
 * Starts of at most `count` windows of `frames` frames that tell most about the time: of each equal part of the
 * song, the stretch with the most energy in its sample-to-sample changes (bright and moving rather than low and
 * steady). In order of time; silent parts give none. A song shorter than a window sits in the middle of one.
 */
export function pickWindows(pcm: Pcm, frames: number, count: number): number[] {
  const total = frameCount(pcm);
  const hop = Math.max(1, Math.floor(frames / 4));
  const moving = new Float64Array(Math.ceil(total / hop));
  for (const samples of pcm.channels) {
    let last = 0;
    for (let cell = 0; cell < moving.length; cell++) {
      const end = Math.min(total, (cell + 1) * hop);
      let sum = 0;
      for (let i = cell * hop; i < end; i++) {
        const change = samples[i] - last;
        last = samples[i];
        sum += change * change;
      }
      moving[cell] += sum;
    }
  }
  if (total <= frames) return moving.some((energy) => energy > 0) ? [Math.floor((total - frames) / 2)] : [];
  const starts: number[] = [];
  const last = total - frames;
  const part = Math.max(frames, Math.ceil((last + 1) / count));
  for (let from = 0; from <= last; from += part) {
    let best = 0;
    let bestStart = -1;
    for (let start = Math.ceil(from / hop) * hop; start <= Math.min(last, from + part - 1); start += hop) {
      let energy = 0;
      for (let i = 0; i < 4 && start / hop + i < moving.length; i++) energy += moving[start / hop + i];
      if (energy > best) {
        best = energy;
        bestStart = start;
      }
    }
    if (bestStart >= 0) starts.push(bestStart);
  }
  return starts;
}
