/** Maps [from, to] linearly (or by octaves) to [start, end]. */
export function linear(from: number, to: number, start: number, end: number): (value: number) => number {
  const gain = to === from ? 0 : (end - start) / (to - from);
  return (value) => start + (value - from) * gain;
}

/** A position to a tenth of a drawing unit: finer is never seen and only makes the file larger. */
export function at(position: number): string {
  return String(Math.round(position * 10) / 10);
}

const minuteSteps = [0.1, 0.2, 0.5, 1, 2, 5, 10, 15, 30, 60, 120, 300, 600, 900, 1800, 3600, 7200];

/** Round places in time, at most about eight of them. */
export function timeTicks(seconds: number): number[] {
  const step = minuteSteps.find((candidate) => seconds / candidate <= 8) ?? 7200;
  return Array.from({ length: Math.floor(seconds / step + 1e-9) + 1 }, (_, i) => i * step);
}

/** Multiples of `step` within [from, to]. */
export function steps(from: number, to: number, step: number): number[] {
  const first = Math.ceil(from / step - 1e-9);
  const last = Math.floor(to / step + 1e-9);
  return Array.from({ length: Math.max(0, last - first + 1) }, (_, i) => (first + i) * step);
}
