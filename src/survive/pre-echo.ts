import type { Pcm } from '../audio/pcm.ts';
import { powerToDb } from '../signal/decibels.ts';
import type { PreEcho } from './survive-report.ts';

const cellSeconds = 0.0025;
/** Cells before an onset from which its height is judged: 50 ms. */
const quietCells = 20;
/** Cells looked at for noise: from 20 to 5 ms before. Nearer, the ear hears nothing before a louder sound (backward masking; common practice). */
const preFrom = 8;
const preTo = 2;
/** An onset rises this much, power ratio (heuristic: 12 dB), and to at least -40 dBFS. */
const rise = 10 ** 1.2;
const leastPower = 1e-4;
/** Noise below -70 dBFS is nothing to hear (heuristic), and no silence counts as quieter than -90 dBFS. */
const leastNoise = 1e-7;
const silence = 1e-9;
/** Onsets closer than this are one, cells: 100 ms. */
const apartCells = 40;

/** Looks for noise that coding put before sharp onsets (pre-echo). Blocks of (sent, decoded) in order of time. */
export class PreEchoSearch {
  #onsets = 0;
  #smeared = 0;
  #worst = 0;
  #worstAtSeconds: number | null = null;

  /** @param startFrame where in the sound the blocks begin */
  push(sent: Pcm, decoded: Pcm, startFrame: number): void {
    const cell = Math.max(1, Math.round(cellSeconds * sent.sampleRate));
    const { sound, noise } = cellPowers(sent.channels, decoded.channels, cell);
    let before = 0;
    let last = -apartCells;
    for (let i = 0; i < quietCells; i++) before += sound[i] ?? 0;
    for (let i = quietCells; i < sound.length; i++) {
      if (sound[i] > leastPower && sound[i] * quietCells > rise * before && i - last >= apartCells) {
        last = i;
        this.#judge(sound, noise, i, (startFrame + i * cell) / sent.sampleRate);
      }
      before += sound[i] - sound[i - quietCells];
    }
  }

  #judge(sound: Float64Array, noise: Float64Array, onset: number, atSeconds: number): void {
    let [own, added] = [0, 0];
    for (let i = onset - preFrom; i < onset - preTo; i++) {
      own += sound[i];
      added += noise[i];
    }
    this.#onsets++;
    const cells = preFrom - preTo;
    const ratio = added / (own + cells * silence);
    if (added > cells * leastNoise && ratio > 1) this.#smeared++;
    if (ratio > this.#worst) {
      this.#worst = ratio;
      this.#worstAtSeconds = atSeconds;
    }
  }

  finish(): PreEcho {
    return {
      onsets: this.#onsets,
      smeared: this.#smeared,
      worstDb: this.#worst > 0 ? powerToDb(this.#worst) : null,
      worstAtSeconds: this.#worstAtSeconds,
    };
  }
}

/** Mean squares of each cell, channels averaged: of what was sent, and of what coding added to it. */
function cellPowers(
  sent: readonly Float32Array[],
  decoded: readonly Float32Array[],
  cell: number,
): { sound: Float64Array; noise: Float64Array } {
  const cells = Math.floor(sent[0].length / cell);
  const [sound, noise] = [new Float64Array(cells), new Float64Array(cells)];
  const scale = 1 / (cell * sent.length);
  sent.forEach((before, c) => {
    const after = decoded[c];
    for (let i = 0; i < cells; i++) {
      let [own, added] = [0, 0];
      for (let n = i * cell; n < (i + 1) * cell; n++) {
        const x = before[n];
        const change = after[n] - x;
        own += x * x;
        added += change * change;
      }
      sound[i] += own * scale;
      noise[i] += added * scale;
    }
  });
  return { sound, noise };
}
