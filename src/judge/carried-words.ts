import type { CarryDoubt } from '../compare/carry-moment.ts';

/** Why a carried note may stand in the wrong place, in a sentence. */
export const carriedDoubts: Readonly<Record<CarryDoubt, string>> = {
  before: 'This version begins later in the song, so the place of this note is not in it.',
  after: 'This version ends earlier, so the place of this note is not in it.',
  unlike:
    'Nothing alike was found here: this part was edited, cut or played anew, so the note may stand in the wrong place.',
  'other-song':
    'These two could not be laid over each other, so the note stands at the same time and perhaps in the wrong place.',
};

export const alignmentAwaited =
  'Where this is in this version is still being found out; until then the note stands at the same time.';

/** @param reason what went wrong, a sentence */
export function alignmentFailed(reason: string): string {
  return `Where this is in this version could not be found out, so the note stands at the same time. ${reason}`;
}
