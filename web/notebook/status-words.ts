import { walkScales } from '../../src/places/walk-scales.ts';
import type { WalkStopNow } from '../../src/places/walk-shapes.ts';
import type { Line } from './line.ts';
import type { NoteKeeper } from './note-keeper.ts';

const things = (n: number, one: string) => `${n} ${one}${n === 1 ? '' : 's'}`;

/** How far a place is. */
export function placeWords({ song, references }: WalkStopNow): string {
  const tapped = (scales: object) => Object.keys(scales).length;
  const heard = references.filter(({ scales }) => tapped(scales) > 0).length;
  const own = tapped(song.scales);
  if (own + heard === 0) return 'nothing noted yet';
  return `references: ${heard} of ${references.length} noted; song: ${own} of ${walkScales.length}`;
}

/** Whether the sounds are here. */
export function soundWords(here: number, of: number, fromDisk: boolean): string {
  if (here < of) return `${fromDisk ? 'Unpacking' : 'Fetching'} the sounds: ${here} of ${of}…`;
  return fromDisk
    ? 'The sounds are in this file; no network is needed.'
    : 'The sounds are here: you can go out of reach. Keep this tab open, for without the network it cannot be loaded anew.';
}

/** What of the notes is on the bench, and what happens to the rest. */
export function lineWords(keeper: NoteKeeper, line: Line, fromDisk: boolean): string {
  const { total, waiting, outlasts } = keeper;
  const safe = outlasts
    ? 'kept in this browser'
    : 'in this tab only, for this browser keeps nothing: do not close it before they are sent or saved';
  if (line.state === 'refused')
    return `The bench does not take notes from here any more: ${line.refusal} Your notes are ${safe}; save them as a file.`;
  if (total === 0 && waiting === 0) return fromDisk ? 'No note yet.' : 'No note from this browser yet.';
  if (!line.exists)
    return `${things(total, 'note')}, ${safe}. Save them as a file to bring them to the bench.`;
  if (waiting === 0)
    return total === 1
      ? 'The one note from this browser is on the bench.'
      : `All ${total} notes from this browser are on the bench.`;
  if (line.state === 'waiting')
    return `${things(waiting, 'note')} not sent yet: ${safe}, and sent by itself when the bench is in reach again.`;
  return `Sending ${things(waiting, 'note')}…`;
}
