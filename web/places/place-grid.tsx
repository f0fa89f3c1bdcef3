import { Fragment, useEffect, useRef } from 'react';
import type { PlacesReport } from '../../src/judge/places-report.ts';
import { HeardKey } from '../plots/heard-bars.tsx';
import { PlaceCard } from './place-card.tsx';
import { PlaceOpened } from './place-opened.tsx';

/** All places as small multiples; the opened one is laid out below the row it stands in. */
export function PlaceGrid({
  report,
  songId,
  openId,
  onOpen,
}: {
  report: PlacesReport;
  songId: string;
  openId: string | null;
  onOpen: (id: string | null) => void;
}) {
  const grid = useRef<HTMLDivElement>(null);
  const against = report.against.references.length > 0;
  // What was opened must not stay below the window's edge unseen.
  useEffect(() => {
    if (openId === null) return;
    grid.current?.querySelector('.place-opened')?.scrollIntoView({ block: 'nearest' });
  }, [openId]);
  const close = (id: string) => {
    onOpen(null);
    grid.current?.querySelector<HTMLElement>(`[data-place="${CSS.escape(id)}"] button`)?.focus();
  };
  return (
    <>
      <HeardKey references={against} />
      <div className="place-grid" ref={grid}>
        {report.places.map((inPlace) => {
          const { id } = inPlace.place;
          const open = id === openId;
          return (
            <Fragment key={id}>
              <PlaceCard
                inPlace={inPlace}
                against={against}
                open={open}
                onOpen={() => (open ? close(id) : onOpen(id))}
              />
              {open && (
                <PlaceOpened inPlace={inPlace} report={report} songId={songId} onClose={() => close(id)} />
              )}
            </Fragment>
          );
        })}
      </div>
    </>
  );
}
