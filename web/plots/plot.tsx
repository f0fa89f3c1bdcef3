import { type ReactNode, useEffect, useEffectEvent, useId, useRef, useState } from 'react';
import uPlot from 'uplot';
import { useShownTheme } from '../parts/theme.tsx';
import { type Ink, inkOf } from './ink.ts';

/** A part of the x axis; null is all of it. */
export type View = { readonly from: number; readonly to: number } | null;

/** What is drawn and how it is read; `Plot` adds size, theme, cursor, keyboard and zoom. */
export interface Drawing {
  readonly data: uPlot.AlignedData;
  /** Everything but the size; `css` turns CSS pixels into the canvas's. */
  options(ink: Ink): Omit<uPlot.Options, 'width' | 'height'>;
  /** The values at data point `index` as a sentence: the read-out. */
  read(index: number): string;
  /** Written as the read-out while the cursor is nowhere. */
  readonly rest: string;
  readonly table: { readonly columns: readonly string[]; rows(): readonly (readonly string[])[] };
}

/** A time axis that plots of several sounds share: theirs may cover only a part of it. */
export interface Timeline {
  /** Length of the axis, s. */
  readonly seconds: number;
  /** A moment of the sound that is drawn, on the axis. */
  toAxis(seconds: number): number;
  /** Lays over a plot what lies over all of them, and takes what is done there; returns how to take it off again. */
  attach(u: uPlot): () => void;
  /** A moment was picked by the keyboard's cursor. */
  pick(seconds: number): void;
  /** A stretch was drawn with the pointer. */
  mark(from: number, to: number): void;
}

interface Props {
  readonly title: string;
  readonly height: number;
  readonly drawing: Drawing;
  /** Redraws what lies over the data (marks, bands) when it changes, without building the plot anew. */
  readonly overlay?: unknown;
  /** With both, the x axis can be zoomed. */
  readonly view?: View;
  readonly onView?: (view: View) => void;
  /** Plots with the same key share their cursor. */
  readonly cursorKey?: string;
  /** With it, x is the shared time: drags mark a stretch on it, and Enter picks a moment. */
  readonly timeline?: Timeline | undefined;
  readonly children?: ReactNode;
}

/** Rows of a data table; a longer one is thinned evenly, and says so. */
const tableRows = 200;

/**
 * One plot: a drawing on canvas with a cursor that reads values off, by pointer and by keyboard, and its data as
 * a table on demand.
 */
export function Plot({
  title,
  height,
  drawing,
  overlay,
  view = null,
  onView,
  cursorKey,
  timeline,
  children,
}: Props) {
  const host = useRef<HTMLDivElement>(null);
  const plot = useRef<uPlot | null>(null);
  const theme = useShownTheme();
  const [index, setIndex] = useState<number | null>(null);
  const [byKey, setByKey] = useState(false);
  const helpId = useId();
  const zoom = useEffectEvent((next: View) => onView?.(next));
  const zoomable = onView !== undefined;
  const drawnView = useEffectEvent(() => view);

  // biome-ignore lint/correctness/useExhaustiveDependencies: the theme is read from the style sheet, so it must rebuild
  useEffect(() => {
    const element = host.current!;
    const options = drawing.options(inkOf(element));
    const built = new uPlot(
      {
        ...options,
        width: Math.max(200, element.clientWidth),
        height,
        legend: { show: false },
        cursor: {
          y: false,
          ...options.cursor,
          drag: { x: zoomable, y: false, setScale: false },
          ...(cursorKey ? { sync: { key: cursorKey, setSeries: false } } : {}),
          // uPlot's own double click would undo the zoom behind the page's back.
          bind: {
            // With Shift the pointer moves the view instead: whoever lies over the plot does that.
            mousedown: (_u, _target, handler) => (event) =>
              timeline && event.shiftKey ? null : handler(event),
            dblclick: () => () => {
              zoom(null);
              return null;
            },
          },
        },
        hooks: {
          ...options.hooks,
          setCursor: [(u) => setIndex(u.cursor.idx ?? null)],
          setSelect: [
            (u) => {
              const { left, width } = u.select;
              u.setSelect({ left: 0, top: 0, width: 0, height: 0 }, false);
              if (width <= 3) return;
              const [from, to] = [u.posToVal(left, 'x'), u.posToVal(left + width, 'x')];
              if (timeline) timeline.mark(from, to);
              else zoom({ from, to });
            },
          ],
        },
      },
      drawing.data,
      element,
    );
    plot.current = built;
    if (zoomable) show(built, drawnView(), timeline);
    const detach = timeline?.attach(built);
    const observer = new ResizeObserver(() => {
      const width = Math.max(200, element.clientWidth);
      if (width !== built.width) built.setSize({ width, height });
    });
    observer.observe(element);
    const moved = () => setByKey(false);
    built.over.addEventListener('pointermove', moved);
    return () => {
      observer.disconnect();
      detach?.();
      built.destroy();
      plot.current = null;
    };
  }, [drawing, height, theme, zoomable, cursorKey, timeline]);

  useEffect(() => {
    if (plot.current && zoomable) show(plot.current, view, timeline);
  }, [view, zoomable, timeline]);

  // biome-ignore lint/correctness/useExhaustiveDependencies: the overlay is drawn from the drawing's own state
  useEffect(() => plot.current?.redraw(false), [overlay]);

  const onKeyDown = (event: React.KeyboardEvent) => {
    const u = plot.current;
    if (!u || event.ctrlKey || event.metaKey || event.altKey) return;
    if (timeline) {
      const at = u.data[0][u.cursor.idx ?? -1];
      // The page around it has keys for the view, which move all plots of this axis.
      if (event.key === 'Enter' && at !== undefined) timeline.pick(at);
      if (!readingKeys.has(event.key)) return;
    }
    const act = keyActions[event.key];
    if (!act) return;
    event.preventDefault();
    setByKey(true);
    act(u, event.shiftKey, zoomable ? zoom : null);
  };

  return (
    <div className="plot">
      <div
        ref={host}
        className="plot-canvas"
        style={{ height }}
        role="application"
        aria-roledescription="plot"
        aria-label={title}
        aria-describedby={helpId}
        // biome-ignore lint/a11y/noNoninteractiveTabindex: an application in ARIA's sense; arrow keys move its cursor
        tabIndex={0}
        onKeyDown={onKeyDown}
      />
      <p id={helpId} className="hidden">
        Arrow keys read values off, with Shift in larger steps.
        {zoomable && !timeline && ' Plus and minus zoom, 0 shows all.'}
        {timeline && ' Enter plays from there.'}
      </p>
      <div className="plot-foot">
        <p className="readout num" aria-live={byKey ? 'polite' : 'off'}>
          {index === null ? drawing.rest : drawing.read(index)}
        </p>
        {children}
      </div>
      <DataTable title={title} table={drawing.table} />
    </div>
  );
}

function show(u: uPlot, view: View, timeline: Timeline | undefined): void {
  const x = u.data[0];
  const from = view?.from ?? (timeline ? 0 : (x[0] ?? 0));
  const to = view?.to ?? timeline?.seconds ?? x[x.length - 1] ?? 1;
  u.setScale('x', { min: from, max: Math.max(to, from + 1e-6) });
}

type Zoom = ((view: View) => void) | null;
type KeyAction = (u: uPlot, far: boolean, zoom: Zoom) => void;

/** Keys that only move the cursor. */
const readingKeys = new Set(['ArrowLeft', 'ArrowRight', 'Home', 'End']);

const keyActions: Partial<Record<string, KeyAction>> = {
  ArrowLeft: (u, far) => step(u, far ? -20 : -1),
  ArrowRight: (u, far) => step(u, far ? 20 : 1),
  Home: (u) => moveTo(u, shownIndices(u)[0]),
  End: (u) => moveTo(u, shownIndices(u)[1]),
  '+': (u, _far, zoom) => zoom?.(zoomed(u, 0.5)),
  '=': (u, _far, zoom) => zoom?.(zoomed(u, 0.5)),
  '-': (u, _far, zoom) => zoom?.(zoomed(u, 2)),
  '0': (_u, _far, zoom) => zoom?.(null),
};

function shownIndices(u: uPlot): [number, number] {
  return [u.valToIdx(u.scales.x.min ?? 0), u.valToIdx(u.scales.x.max ?? 0)];
}

/** One step is a data point, or what two pixels hold where points lie closer than that. */
function step(u: uPlot, direction: number): void {
  const [first, last] = shownIndices(u);
  const size = Math.max(1, Math.round(((last - first) * 2) / Math.max(1, u.over.clientWidth)));
  const at = u.cursor.idx ?? (direction > 0 ? first - size : last + size);
  moveTo(u, Math.min(last, Math.max(first, at + direction * size)));
}

function moveTo(u: uPlot, index: number): void {
  const value = u.data[0][index];
  if (value === undefined) return;
  u.setCursor({ left: u.valToPos(value, 'x'), top: u.over.clientHeight / 2 });
}

/** The view `factor` times as wide, around the cursor (else the middle), within the data; null when that is all. */
export function zoomed(u: uPlot, factor: number): View {
  const x = u.data[0];
  const [first, last] = [x[0] ?? 0, x[x.length - 1] ?? 1];
  const { min, max } = u.scales.x;
  const from = min ?? first;
  const to = max ?? last;
  const at = u.cursor.idx == null ? (from + to) / 2 : (x[u.cursor.idx] ?? (from + to) / 2);
  return around(from, to, at, factor, first, last);
}

/** As `zoomed`, from numbers alone. */
export function around(
  from: number,
  to: number,
  at: number,
  factor: number,
  first: number,
  last: number,
): View {
  const width = Math.max((to - from) * factor, (last - first) / 2000);
  if (width >= last - first) return null;
  const share = to > from ? (at - from) / (to - from) : 0.5;
  const start = Math.min(last - width, Math.max(first, at - width * share));
  return { from: start, to: start + width };
}

function DataTable({ title, table }: { title: string; table: Drawing['table'] }) {
  const [open, setOpen] = useState(false);
  const rows = open ? table.rows() : [];
  const stride = Math.max(1, Math.ceil(rows.length / tableRows));
  return (
    <details className="data-table" onToggle={(event) => setOpen(event.currentTarget.open)}>
      <summary>As a table</summary>
      {open && (
        // biome-ignore lint/a11y/noNoninteractiveTabindex: a part that scrolls must be reachable by keyboard
        <section className="scroll" aria-label={`${title}, as a table`} tabIndex={0}>
          <table className="figures">
            <caption className="note">
              {stride > 1 ? `Every ${stride}th of ${rows.length} values.` : `${rows.length} values.`}
            </caption>
            <thead>
              <tr>
                {table.columns.map((column) => (
                  <th key={column} scope="col" className="num">
                    {column}
                  </th>
                ))}
              </tr>
            </thead>
            <tbody>
              {rows
                .filter((_, i) => i % stride === 0)
                .map((row) => (
                  <tr key={row[0]}>
                    {row.map((cell, i) => (
                      <td key={table.columns[i]} className="num">
                        {cell}
                      </td>
                    ))}
                  </tr>
                ))}
            </tbody>
          </table>
        </section>
      )}
    </details>
  );
}
