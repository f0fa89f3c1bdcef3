import { Button, GridList, GridListItem, useDragAndDrop } from 'react-aria-components';
import type { RecordDetail, RecordPlan } from '../../src/server/records-api.ts';
import { clock } from '../words/figures.ts';
import { joinWords } from './words.ts';

type Record = RecordDetail['record'];

/**
 * The record with its songs in another order, or without some: `order` names them by where they stood. What was taken on of a
 * song goes with it.
 */
export function ordered(record: Record, order: readonly number[]): Record {
  return {
    ...record,
    songs: order.flatMap((from) => record.songs[from] ?? []),
    accepted: record.accepted.flatMap((exception) => {
      const [, check, number] = /^(.+)@(\d+)$/.exec(exception.check) ?? [];
      if (number === undefined) return [exception];
      const to = order.indexOf(Number(number) - 1);
      return to < 0 ? [] : [{ ...exception, check: `${check}@${to + 1}` }];
    }),
  };
}

/** The record with a song at another place, 0 being the first. */
export function moved(record: Record, from: number, to: number): Record {
  const places = [...record.songs.keys()];
  if (!places.includes(from) || !places.includes(to)) return record;
  return ordered(record, places.toSpliced(from, 1).toSpliced(to, 0, from));
}

/** Songs in their order: dragged by the mouse, by touch, or by keyboard (Enter on the handle, arrows, Enter). */
export function SongOrder({
  detail,
  plan,
  chosen,
  onChoose,
  onChange,
}: {
  detail: RecordDetail;
  plan: RecordPlan | undefined;
  chosen: number;
  onChoose: (song: number) => void;
  onChange: (record: Record, chosen: number) => void;
}) {
  const { record } = detail;
  const { dragAndDropHooks } = useDragAndDrop({
    getItems: (keys) => [...keys].map((key) => ({ 'text/plain': record.songs[Number(key)]?.title ?? '' })),
    onReorder: ({ keys, target }) => {
      const from = Number([...keys][0]);
      const over = Number(target.key);
      const before = target.dropPosition === 'before' ? over : over + 1;
      const to = before > from ? before - 1 : before;
      if (from !== to) onChange(moved(record, from, to), to);
    },
  });
  return (
    <GridList
      aria-label="Songs in order"
      className="song-order"
      selectionMode="single"
      selectionBehavior="replace"
      disallowEmptySelection
      selectedKeys={[String(chosen)]}
      onSelectionChange={(keys) => {
        const [key] = keys === 'all' ? [] : [...keys];
        if (key !== undefined) onChoose(Number(key));
      }}
      dragAndDropHooks={dragAndDropHooks}
    >
      {record.songs.map((song, i) => {
        const known = detail.songs[i];
        const track = plan?.tracks[i];
        const seconds = track?.seconds ?? known?.seconds;
        return (
          // biome-ignore lint/suspicious/noArrayIndexKey: a song is where it stands
          <GridListItem key={i} id={String(i)} textValue={song.title} className="ordered-song">
            <Button slot="drag" className="drag" aria-label={`Move ${song.title}`}>
              <svg viewBox="0 0 12 16" width="12" height="16" aria-hidden="true">
                <path
                  d="M3 3h.01M9 3h.01M3 8h.01M9 8h.01M3 13h.01M9 13h.01"
                  stroke="currentColor"
                  strokeWidth="2.5"
                  strokeLinecap="round"
                />
              </svg>
            </Button>
            <span className="num">{i + 1}</span>
            <span className="ordered-title">
              {song.title}
              {song.subtitle !== '' && ` (${song.subtitle})`}
              <span className="note">
                {known?.versionName}
                {i > 0 && `; ${joinWords[song.join]}`}
                {known?.approval &&
                  (known.approval.what === 'withdrawn'
                    ? '; approval taken back'
                    : known.approval.current
                      ? '; ✓ approved'
                      : '; changed since it was approved')}
              </span>
            </span>
            <span className="num">{seconds == null ? '–' : clock(seconds)}</span>
          </GridListItem>
        );
      })}
    </GridList>
  );
}
