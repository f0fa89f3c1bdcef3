import { frameCount, joinPcm, type Pcm, slicePcm } from '../audio/pcm.ts';

/** A stretch of a sound together with some of what lies before and after it. */
export interface Piece {
  /** With its surroundings. */
  readonly pcm: Pcm;
  /** Where in the sound the piece with its surroundings begins, frames. */
  readonly startFrame: number;
  /** The stretch itself, frames within `pcm`; the stretches of all pieces lie end to end and cover the sound. */
  readonly bodyStart: number;
  readonly bodyEnd: number;
}

export interface PieceSizes {
  /** A sound of up to this many frames is one piece. */
  readonly wholeFrames: number;
  /** Frames of a stretch of a longer sound; a multiple of the cut grid. */
  readonly bodyFrames: number;
  /** Frames before and after a stretch; a multiple of the cut grid. */
  readonly overlapFrames: number;
}

/** Cuts a stream of sound into overlapping pieces; at most two pieces' worth of sound is held at a time. */
export async function* overlappedPieces(
  blocks: AsyncIterable<Pcm> | Iterable<Pcm>,
  { wholeFrames, bodyFrames, overlapFrames }: PieceSizes,
): AsyncGenerator<Piece> {
  let held: Pcm[] = [];
  let heldFrames = 0;
  /** Where in the sound the first held frame and the next stretch begin. */
  let heldStart = 0;
  let bodyStart = 0;
  let cutting = false;
  const gather = (): Pcm => {
    if (held.length !== 1) held = [joinPcm(held)];
    return held[0];
  };
  const drop = (until: number): void => {
    const all = gather();
    // Copied, so that what was dropped is really let go of.
    const rest = slicePcm(all, until - heldStart, frameCount(all));
    held = [{ ...rest, channels: rest.channels.map((samples) => samples.slice()) }];
    heldFrames = frameCount(held[0]);
    heldStart = until;
  };
  for await (const block of blocks) {
    held.push(block);
    heldFrames += frameCount(block);
    cutting ||= heldStart + heldFrames > wholeFrames;
    // As much again must follow, so that the last stretch is never a scrap.
    while (
      cutting &&
      heldStart + heldFrames >= bodyStart + bodyFrames + Math.max(overlapFrames, bodyFrames / 4)
    ) {
      const end = bodyStart + bodyFrames;
      yield {
        pcm: slicePcm(gather(), 0, end + overlapFrames - heldStart),
        startFrame: heldStart,
        bodyStart: bodyStart - heldStart,
        bodyEnd: end - heldStart,
      };
      bodyStart = end;
      drop(Math.max(0, end - overlapFrames));
    }
  }
  if (held.length === 0 || heldStart + heldFrames === bodyStart) return;
  yield { pcm: gather(), startFrame: heldStart, bodyStart: bodyStart - heldStart, bodyEnd: heldFrames };
}
