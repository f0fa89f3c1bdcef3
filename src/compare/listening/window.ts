import { chunkFrames, type Sound } from './sound.ts';
import type { Source } from './source.ts';

/** A stretch that is played over and over, frames of the song's timeline. */
export interface FrameLoop {
  readonly start: number;
  readonly end: number;
}

/** Sound that a chain is given before what is heard of it, s: by then its levels have settled. */
export const runUpSeconds = 1;
/** Sound kept ahead of the position and behind it, s: what a busy server may be late by; a run-up, and a small step back. */
const aheadSeconds = 4;
const behindSeconds = runUpSeconds + 0.25;
/** Sound kept at a loop's start, s. */
const loopSeconds = 1.5;

/** Sound kept around a voice that is fading out elsewhere, s either way. */
const fadingSeconds = 0.1;

/** Most chunks that a source keeps: at the position, at a loop's start, and under a voice that fades out elsewhere. */
export function mostChunks(sampleRate: number): number {
  const chunks = (seconds: number) => Math.ceil((seconds * sampleRate) / chunkFrames) + 1;
  return (
    chunks(behindSeconds + aheadSeconds) + chunks(behindSeconds + loopSeconds) + chunks(2 * fadingSeconds)
  );
}

/**
 * Chunks (first, last) that a source keeps.
 * @param position where the song is or is about to be
 * @param voices where it is being heard now
 */
export function keptRanges(
  { shiftFrames }: Pick<Source, 'shiftFrames'>,
  position: number,
  voices: readonly number[],
  loop: FrameLoop | null,
  sampleRate: number,
): readonly (readonly [number, number])[] {
  const around = (place: number, before: number, after: number) =>
    [
      Math.floor((place + shiftFrames - before * sampleRate) / chunkFrames),
      Math.floor((place + shiftFrames + after * sampleRate) / chunkFrames),
    ] as const;
  return [
    around(position, behindSeconds, aheadSeconds),
    ...voices.map((voice) => around(voice, fadingSeconds, fadingSeconds)),
    ...(loop ? [around(loop.start, behindSeconds, loopSeconds)] : []),
  ];
}

/** A source as chunks are asked for it. */
export interface Asking {
  readonly sound: Sound;
  /** Whether it is heard, or would be. */
  readonly urgent: boolean;
  readonly ranges: readonly (readonly [number, number])[];
  /** Its own frame at the position, and the first one that is needed to begin there. */
  readonly at: number;
  readonly needsFrom: number;
}

/** Missing chunks, the most urgent first: the chosen sound at the position, then what comes next in all. */
export function rankedChunks(sources: readonly Asking[], most: number): { key: string; chunk: number }[] {
  const missing = new Map<string, { key: string; chunk: number; rank: number }>();
  for (const { sound, urgent, ranges, at, needsFrom } of sources) {
    const here = Math.floor(at / chunkFrames);
    const needed = Math.floor(needsFrom / chunkFrames);
    for (const [first, last] of ranges)
      for (const chunk of sound.chunksOf(first * chunkFrames, (last + 1) * chunkFrames)) {
        if (sound.has(chunk)) continue;
        // What lies behind or at the loop's start comes after the next second, before the rest; what is needed, at once.
        const ahead = chunk - here;
        const distance = ahead >= 0 && ahead <= 8 ? ahead : chunk >= needed && ahead < 0 ? 0 : 2.5;
        const rank = distance + (urgent ? 0 : 1.5);
        const id = `${chunk} ${sound.key}`;
        if (rank < (missing.get(id)?.rank ?? Number.POSITIVE_INFINITY))
          missing.set(id, { key: sound.key, chunk, rank });
      }
  }
  return [...missing.values()]
    .sort((a, b) => a.rank - b.rank)
    .slice(0, most)
    .map(({ key, chunk }) => ({ key, chunk }));
}
