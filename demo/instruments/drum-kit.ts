import { panned, type Stereo, silence } from '../mixing/stereo.ts';
import { randomFrom } from '../random.ts';
import type { PlayedNote } from '../score.ts';
import { blow, type KitTuning } from './drum-sounds.ts';

/** Where the pieces stand and how loud they are beside each other, seen from the hall. */
const seats: Readonly<Record<string, { pan: number; level: number }>> = {
  kick: { pan: 0, level: 1 },
  snare: { pan: 0.05, level: 0.72 },
  rim: { pan: 0.05, level: 0.5 },
  tom1: { pan: 0.35, level: 0.7 },
  tom2: { pan: 0, level: 0.72 },
  tom3: { pan: -0.4, level: 0.75 },
  hat: { pan: 0.42, level: 0.34 },
  open: { pan: 0.42, level: 0.34 },
  ride: { pan: -0.45, level: 0.5 },
  crash: { pan: -0.3, level: 0.55 },
  shaker: { pan: -0.5, level: 0.4 },
  tamb: { pan: -0.35, level: 0.42 },
  clap: { pan: 0.1, level: 0.5 },
  sweep: { pan: 0.15, level: 0.5 },
};

const layers = 4;
const takes = 3;

/**
 * Plays a kit. Each piece is struck once for each of four velocity layers and three takes; hits pick a layer by
 * velocity and go round the takes, so that no two following hits are the same. A closed hat stops an open one.
 */
export function drumKit(
  hits: readonly PlayedNote[],
  frames: number,
  rate: number,
  kit: KitTuning,
  seed: string,
  only?: (word: string) => boolean,
): Stereo {
  const out = silence(frames);
  const made = new Map<string, Stereo>();
  const heard = only ? hits.filter((h) => only(h.word)) : hits;
  const hatTimes = heard.filter((h) => h.word === 'hat' || h.word === 'open').map((h) => h.atSeconds);
  heard.forEach((h, index) => {
    const seat = seats[h.word] ?? { pan: 0, level: 0.5 };
    const layer = Math.min(layers - 1, Math.floor(h.velocity * layers));
    const key = `${h.word} ${layer} ${index % takes}`;
    let sound = made.get(key);
    if (!sound) {
      const v = (layer + 0.6) / layers;
      sound = panned(blow(h.word, rate, v, kit, randomFrom(`${seed} ${key}`)), seat.pan);
      made.set(key, sound);
    }
    const start = Math.round(h.atSeconds * rate);
    const gain = seat.level * h.velocity ** 1.35 * 1.3;
    const choke =
      h.word === 'open' ? (hatTimes.find((t) => t > h.atSeconds + 0.05) ?? h.atSeconds + 9) : h.atSeconds + 9;
    const stop = Math.round((choke - h.atSeconds) * rate);
    const fade = Math.round(0.03 * rate);
    const length = Math.min(sound.left.length, frames - start, stop + fade);
    for (let i = 0; i < length; i++) {
      const g = i < stop ? gain : (gain * (stop + fade - i)) / fade;
      out.left[start + i] += g * sound.left[i];
      out.right[start + i] += g * sound.right[i];
    }
  });
  return out;
}
