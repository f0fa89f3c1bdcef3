/** A decaying sine: frequency, level, seconds to fall by 60 dB. */
export interface Mode {
  readonly hz: number;
  readonly level: number;
  readonly decaySeconds: number;
  /** Radians; 0 starts at nothing. */
  readonly phase?: number;
}

/**
 * Adds decaying sines to `out` from `start`, by the two-term recurrence of a damped rotation (no sine per sample).
 * A mode stops when it has fallen by 90 dB or at `frames`.
 */
export function ring(
  out: Float32Array,
  start: number,
  frames: number,
  rate: number,
  modes: readonly Mode[],
): void {
  for (const { hz, level, decaySeconds, phase = 0 } of modes) {
    if (hz >= 0.47 * rate || level === 0) continue;
    const w = (2 * Math.PI * hz) / rate;
    const r = 10 ** (-3 / (decaySeconds * rate));
    const turn = 2 * r * Math.cos(w);
    const fall = r * r;
    let older = level * Math.sin(phase - w) * (1 / r);
    let newer = level * Math.sin(phase);
    const end = Math.min(out.length, start + Math.min(frames, Math.ceil(1.5 * decaySeconds * rate)));
    for (let i = start; i < end; i++) {
      out[i] += newer;
      const next = turn * newer - fall * older;
      older = newer;
      newer = next;
    }
  }
}

/** A straight line up or down over the given span, to keep the edges of a sound from clicking. */
export function ramp(out: Float32Array, start: number, end: number, from: number, to: number): void {
  const first = Math.max(0, start);
  const last = Math.min(out.length, end);
  for (let i = first; i < last; i++) out[i] *= from + ((to - from) * (i - start)) / (end - start);
}
