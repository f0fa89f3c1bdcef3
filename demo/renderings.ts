import type { DemoFault, DemoNote, DemoVersion } from './demo-index.ts';
import { type Finish, master } from './mastering/master.ts';
import { faultyTake, goodTake } from './mastering/takes.ts';
import type { Stereo } from './mixing/stereo.ts';
import type { Piece } from './piece.ts';

const notes: Readonly<Record<DemoFault, string>> = {
  overs: 'Sample peaks at 0 dBFS; the peaks between the samples go above full scale.',
  bassy: 'The low end is several dB too heavy; peaks and loudness are in order.',
  thin: 'The bass is cut and the limiter works far too hard; the peaks stay under the ceiling.',
};

/** The order in which each song's masters came in, so that the number of a take says nothing about it. */
const takesOf: Readonly<Record<string, readonly (DemoFault | null)[]>> = {
  'ferry-light': ['overs', null, 'thin', 'bassy'],
  'salt-in-the-radio': ['bassy', 'thin', 'overs', null],
  'quiet-machinery': [null, 'bassy', 'overs', 'thin'],
};

/** One file to be made: how its sound comes about is known, it has not been played yet. */
export interface Rendering {
  readonly version: DemoVersion;
  /** null for the mix as it is. */
  readonly finish: Finish | null;
}

/** The mix and the four masters of a song. */
export function renderingsOf(song: Piece): Rendering[] {
  const sound: DemoNote = { fault: null, text: 'Nothing is wrong with it.' };
  const takes = takesOf[song.id].map((fault, i) => ({
    version: {
      name: `Master, take ${i + 1}`,
      kind: 'master' as const,
      file: `${song.title} (master, take ${i + 1}).wav`,
      note: fault ? { fault, text: notes[fault] } : sound,
    },
    finish: fault ? faultyTake(fault, song.needs) : goodTake(song.needs),
  }));
  const mix = {
    version: {
      name: 'Mix',
      kind: 'mix' as const,
      file: `${song.title} (mix).wav`,
      note: { fault: null, text: 'Not mastered: headroom is left, nothing limits the bus.' },
    },
    finish: null,
  };
  return [mix, ...takes];
}

/** A reference is heard only finished. */
export function referenceFile(piece: Piece): string {
  return `${piece.artist} - ${piece.title}.wav`;
}

export function finished(mix: Stereo, sampleRate: number, finish: Finish | null): Stereo {
  return finish ? master(mix, sampleRate, finish) : mix;
}
