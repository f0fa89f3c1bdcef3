import { frameCount, type Pcm } from './pcm.ts';

/** What a channel adds to left and to right. */
type Share = readonly [left: number, right: number];

const left: Share = [1, 0];
const right: Share = [0, 1];
const both: Share = [Math.SQRT1_2, Math.SQRT1_2];
const leftBehind: Share = [Math.SQRT1_2, 0];
const rightBehind: Share = [0, Math.SQRT1_2];
const nowhere: Share = [0, 0];

/**
 * By channel count, in WAVE order. ITU-R BS.775 Annex 4, Table 2 (two-channel downmix): centre and surrounds at 0.7071,
 * the low-frequency effects channel left out. The standard knows up to 3/2; a single rear channel (6.1) and the sides of 7.1
 * are taken as surrounds, which is our own reading.
 */
const shares: Readonly<Record<number, readonly Share[]>> = {
  1: [[1, 1]],
  2: [left, right],
  3: [left, right, both],
  4: [left, right, leftBehind, rightBehind],
  5: [left, right, both, leftBehind, rightBehind],
  6: [left, right, both, nowhere, leftBehind, rightBehind],
  7: [left, right, both, nowhere, [0.5, 0.5], leftBehind, rightBehind],
  8: [left, right, both, nowhere, leftBehind, rightBehind, leftBehind, rightBehind],
};

/**
 * Any sound as two channels: mono doubled, stereo as it is (no copy), more folded down by ITU-R BS.775 without scaling, so
 * that it may go over full scale. Of more than eight channels, whose places nobody has written down, the first two are heard.
 */
export function foldToStereo(pcm: Pcm): Pcm {
  const { sampleRate, channels } = pcm;
  if (channels.length === 2) return pcm;
  if (channels.length === 1) return { sampleRate, channels: [channels[0], channels[0]] };
  const table = shares[channels.length];
  if (!table) return { sampleRate, channels: channels.slice(0, 2) };
  const frames = frameCount(pcm);
  const out = [0, 1].map((side) => {
    const sum = new Float32Array(frames);
    for (const [c, share] of table.entries()) {
      const gain = share[side];
      const samples = channels[c];
      if (gain !== 0) for (let i = 0; i < frames; i++) sum[i] += gain * samples[i];
    }
    return sum;
  });
  return { sampleRate, channels: out };
}
