/** Length of every crossfade, s: too short to hear as a fade, too long to click (heuristic). */
export const fadeSeconds = 0.01;

/**
 * Weights of a crossfade that keeps the power for the two sounds at hand: cosine and sine for sounds that have nothing to do
 * with each other; for sounds alike, as two versions of a song are, those would bulge by up to 3 dB in the middle, so they are
 * divided by what the likeness adds.
 *
 * @param likeness correlation of the two during the fade; below 0 counts as 0
 */
export function fadeWeights(frames: number, likeness: number): { out: Float32Array; in: Float32Array } {
  const alike = Math.max(0, Math.min(1, likeness));
  const out = new Float32Array(frames);
  const into = new Float32Array(frames);
  for (let i = 0; i < frames; i++) {
    const angle = ((i + 0.5) / frames) * (Math.PI / 2);
    const norm = Math.sqrt(1 + alike * Math.sin(2 * angle));
    out[i] = Math.cos(angle) / norm;
    into[i] = Math.sin(angle) / norm;
  }
  return { out, in: into };
}

/** Correlation of two stretches; 0 when one is silent. */
export function likenessOf(a: Float32Array, b: Float32Array): number {
  let [aa, bb, ab] = [0, 0, 0];
  for (let i = 0; i < a.length; i++) {
    aa += a[i] * a[i];
    bb += b[i] * b[i];
    ab += a[i] * b[i];
  }
  return aa > 0 && bb > 0 ? ab / Math.sqrt(aa * bb) : 0;
}
