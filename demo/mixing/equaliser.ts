/** One band of an equaliser. Slopes of cuts are 12 dB/octave. */
export interface Band {
  readonly kind: 'lowcut' | 'highcut' | 'lowshelf' | 'highshelf' | 'bell';
  readonly hz: number;
  /** Gain of shelves and bells; cuts have none. */
  readonly db?: number;
  readonly q?: number;
}

interface Section {
  readonly b0: number;
  readonly b1: number;
  readonly b2: number;
  readonly a1: number;
  readonly a2: number;
}

/** Second-order sections after the 'Audio EQ Cookbook' (R. Bristow-Johnson, W3C note). */
function design(band: Band, rate: number): Section {
  const w = (2 * Math.PI * Math.min(band.hz, 0.49 * rate)) / rate;
  const cos = Math.cos(w);
  const alpha = Math.sin(w) / (2 * (band.q ?? Math.SQRT1_2));
  let b: [number, number, number];
  let a: [number, number, number];
  if (band.kind === 'lowcut') {
    b = [(1 + cos) / 2, -(1 + cos), (1 + cos) / 2];
    a = [1 + alpha, -2 * cos, 1 - alpha];
  } else if (band.kind === 'highcut') {
    b = [(1 - cos) / 2, 1 - cos, (1 - cos) / 2];
    a = [1 + alpha, -2 * cos, 1 - alpha];
  } else if (band.kind === 'bell') {
    const A = 10 ** ((band.db ?? 0) / 40);
    b = [1 + alpha * A, -2 * cos, 1 - alpha * A];
    a = [1 + alpha / A, -2 * cos, 1 - alpha / A];
  } else {
    const A = 10 ** ((band.db ?? 0) / 40);
    const s = band.kind === 'lowshelf' ? 1 : -1;
    const root = 2 * Math.sqrt(A) * alpha;
    b = [
      A * (A + 1 - s * (A - 1) * cos + root),
      s * 2 * A * (A - 1 - s * (A + 1) * cos),
      A * (A + 1 - s * (A - 1) * cos - root),
    ];
    a = [
      A + 1 + s * (A - 1) * cos + root,
      -s * 2 * (A - 1 + s * (A + 1) * cos),
      A + 1 + s * (A - 1) * cos - root,
    ];
  }
  return { b0: b[0] / a[0], b1: b[1] / a[0], b2: b[2] / a[0], a1: a[1] / a[0], a2: a[2] / a[0] };
}

/** Filters in place, band after band. */
export function equalise(samples: Float32Array, rate: number, bands: readonly Band[]): Float32Array {
  for (const band of bands) runSection(samples, design(band, rate));
  return samples;
}

const block = 2048;
/** State below this is set to zero now and then: silence after sound would otherwise run on denormal numbers, slowly. */
const forget = 1e-25;

/** Transposed direct form II. */
function runSection(samples: Float32Array, { b0, b1, b2, a1, a2 }: Section): void {
  let z1 = 0;
  let z2 = 0;
  for (let start = 0; start < samples.length; start += block) {
    const end = Math.min(samples.length, start + block);
    for (let i = start; i < end; i++) {
      const x = samples[i];
      const y = b0 * x + z1;
      z1 = b1 * x - a1 * y + z2;
      z2 = b2 * x - a2 * y;
      samples[i] = y;
    }
    if (Math.abs(z1) < forget && Math.abs(z2) < forget) {
      z1 = 0;
      z2 = 0;
    }
  }
}
