import { type WalkScale, walkScales } from './walk-scales.ts';
import type { WalkNote, WalkStopNow, WalkTapsNow } from './walk-shapes.ts';

/** A stop before anything is noted of it. */
export interface PlannedStop {
  readonly id: string;
  readonly name: string;
  readonly trust: number;
}

/** Of two notes about one thing the later counts; of two in one millisecond, whichever key is greater, so that all agree. */
export function isLater(a: Pick<WalkNote, 'at' | 'key'>, b: Pick<WalkNote, 'at' | 'key'>): boolean {
  const [first, second] = [Date.parse(a.at), Date.parse(b.at)];
  return first === second ? a.key > b.key : first > second;
}

/** What a note is about; of notes about the same, one counts. */
export function aboutOf(note: WalkNote): string {
  return `${note.stop} ${note.what === 'trust' ? 'place' : note.subject} ${note.what}`;
}

/** The notes that count: of each thing the latest. In whatever order and however often notes come, the same. */
export function countingNotes<Note extends WalkNote>(notes: Iterable<Note>): Map<string, Note> {
  const latest = new Map<string, Note>();
  for (const note of notes) {
    const about = aboutOf(note);
    const before = latest.get(about);
    if (!before || isLater(note, before)) latest.set(about, note);
  }
  return latest;
}

/** What counts now at each stop. @param references how many the walk has */
export function stopsNow(
  stops: readonly PlannedStop[],
  references: number,
  notes: Iterable<WalkNote>,
): WalkStopNow[] {
  const latest = countingNotes(notes);
  return stops.map(({ id, name, trust }) => {
    const own = latest.get(`${id} place trust`);
    const of = (subject: 'song' | number): WalkTapsNow => {
      const scales: Partial<Record<WalkScale, number>> = {};
      for (const scale of walkScales) {
        const value = latest.get(`${id} ${subject} ${scale}`)?.value;
        if (typeof value === 'number') scales[scale] = value;
      }
      const words = latest.get(`${id} ${subject} words`)?.value;
      return { scales, words: typeof words === 'string' && words.trim() !== '' ? words : null };
    };
    return {
      id,
      name,
      trust: typeof own?.value === 'number' ? own.value : trust,
      song: of('song'),
      references: Array.from({ length: references }, (_, i) => of(i)),
    };
  });
}
