import type { Stereo } from './stereo.ts';

/** Lowers a sound for a moment at each of the given times (the kick's), in place; gives the same sound back. */
export function duck<Sound extends Stereo | Float32Array>(
  sound: Sound,
  rate: number,
  atSeconds: readonly number[],
  { depth = 0.75, seconds = 0.22 } = {},
): Sound {
  const sides = sound instanceof Float32Array ? [sound] : [sound.left, sound.right];
  const length = Math.round(seconds * rate);
  const down = Math.round(0.006 * rate);
  for (const at of atSeconds) {
    const start = Math.round(at * rate) - down;
    for (let i = 0; i < length + down; i++) {
      const open = i < down ? 1 - i / down : ((i - down) / length) ** 1.5;
      const gain = 1 - depth * (1 - open);
      for (const side of sides) if (start + i >= 0 && start + i < side.length) side[start + i] *= gain;
    }
  }
  return sound;
}
