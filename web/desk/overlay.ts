import type uPlot from 'uplot';
import { around, type View } from '../plots/plot.tsx';
import type { Loop } from './desk-player.ts';
import { onFrame } from './frames.ts';

/** A note as it is marked over the waveform. */
export interface Mark {
  readonly atSeconds: number;
  readonly done: boolean;
}

/** What the overlay asks of the desk. */
export interface OverlayHost {
  position(): number;
  seek(seconds: number): void;
  setView(view: View): void;
  readonly lengthSeconds: number;
}

/** Pointer travel that still is a click, pixels. */
const stillPixels = 3;

/**
 * Lies over every plot of the shared time: playhead, loop and note marks as elements of their own, so that the drawing
 * below is never drawn again for them; and takes clicks, wheel, pinches and Shift drags.
 */
export class Overlay {
  host: OverlayHost;
  #loop: Loop | null = null;
  #from: number | null = null;
  #marks: readonly Mark[] = [];
  readonly #places = new Set<() => void>();

  constructor(host: OverlayHost) {
    this.host = host;
  }

  /** What is to be shown; `from` is where a loop begins that has no end yet. */
  show(loop: Loop | null, from: number | null, marks: readonly Mark[]): void {
    this.#loop = loop;
    this.#from = from;
    this.#marks = marks;
    for (const place of this.#places) place();
  }

  attach(u: uPlot): () => void {
    const layer = u.over.ownerDocument.createElement('div');
    layer.className = 'desk-over';
    layer.setAttribute('aria-hidden', 'true');
    const add = (className: string) => {
      const element = layer.ownerDocument.createElement('div');
      element.className = className;
      return element;
    };
    const band = add('desk-loop');
    const head = add('desk-playhead');
    u.over.append(layer);
    u.over.classList.add('desk-plot');

    let drawnFrom = Number.NaN;
    let drawnTo = Number.NaN;
    let drawnWidth = 0;
    let headAt = Number.NaN;
    const x = (seconds: number) => ((seconds - drawnFrom) / (drawnTo - drawnFrom)) * drawnWidth;
    const place = () => {
      const within = (left: number) => left >= -1 && left <= drawnWidth + 1;
      const start = this.#loop ? x(this.#loop.startSeconds) : 0;
      const left = Math.max(-2, start);
      const right = this.#loop ? Math.min(drawnWidth + 2, x(this.#loop.endSeconds)) : 0;
      band.hidden = !this.#loop || right <= left;
      band.style.transform = `translateX(${left}px)`;
      band.style.width = `${Math.max(0, right - left)}px`;
      const from = add('desk-loop-from');
      if (this.#from !== null) from.style.transform = `translateX(${x(this.#from)}px)`;
      const marks = this.#marks.flatMap(({ atSeconds, done }) => {
        const at = x(atSeconds);
        if (!within(at)) return [];
        const mark = add(done ? 'desk-mark done' : 'desk-mark');
        mark.style.transform = `translateX(${at}px)`;
        return [mark];
      });
      layer.replaceChildren(band, ...(this.#from !== null ? [from] : []), ...marks, head);
      headAt = Number.NaN;
    };
    const stop = onFrame(() => {
      const { min, max } = u.scales.x;
      if (min == null || max == null) return;
      const width = u.over.clientWidth;
      if (min !== drawnFrom || max !== drawnTo || width !== drawnWidth) {
        [drawnFrom, drawnTo, drawnWidth] = [min, max, width];
        place();
      }
      const at = x(this.host.position());
      if (at === headAt) return;
      headAt = at;
      head.hidden = at < 0 || at > drawnWidth;
      head.style.transform = `translateX(${at}px)`;
    });
    this.#places.add(place);
    const letGo = this.#listen(u);
    return () => {
      stop();
      letGo();
      this.#places.delete(place);
      layer.remove();
    };
  }

  #listen(u: uPlot): () => void {
    const stop = new AbortController();
    const { signal } = stop;
    const { over } = u;
    const timeAt = (clientX: number) => u.posToVal(clientX - over.getBoundingClientRect().left, 'x');
    const shown = () => ({ from: u.scales.x.min ?? 0, to: u.scales.x.max ?? this.host.lengthSeconds });
    const zoom = (about: number, factor: number) => {
      const { from, to } = shown();
      this.host.setView(around(from, to, about, factor, 0, this.host.lengthSeconds));
    };
    const pan = (pixels: number) => {
      const { from, to } = shown();
      const width = to - from;
      if (width >= this.host.lengthSeconds) return;
      const start = from + (pixels / Math.max(1, over.clientWidth)) * width;
      const kept = Math.max(0, Math.min(this.host.lengthSeconds - width, start));
      this.host.setView({ from: kept, to: kept + width });
    };

    over.addEventListener(
      'wheel',
      (event) => {
        const sideways = event.shiftKey ? event.deltaY || event.deltaX : event.deltaX;
        if (event.ctrlKey || event.metaKey) zoom(timeAt(event.clientX), Math.exp(event.deltaY / 300));
        else if (sideways !== 0) pan(sideways);
        // Plainly turned, the wheel scrolls the page, as it does everywhere.
        else return;
        event.preventDefault();
      },
      { signal, passive: false },
    );

    // Fingers: one moves the view, two zoom it. The mouse: a click goes there, with Shift a drag moves the view.
    const down = new Map<number, number>();
    let pressedAt = 0;
    over.addEventListener(
      'pointerdown',
      (event) => {
        pressedAt = event.clientX;
        if (event.pointerType === 'mouse' && !event.shiftKey) return;
        down.set(event.pointerId, event.clientX);
        over.setPointerCapture(event.pointerId);
      },
      { signal },
    );
    over.addEventListener(
      'pointermove',
      (event) => {
        const last = down.get(event.pointerId);
        if (last === undefined) return;
        const other = [...down].find(([id]) => id !== event.pointerId)?.[1];
        down.set(event.pointerId, event.clientX);
        if (other === undefined) return pan(last - event.clientX);
        const before = Math.max(8, Math.abs(last - other));
        const after = Math.max(8, Math.abs(event.clientX - other));
        zoom(timeAt((event.clientX + other) / 2), before / after);
      },
      { signal },
    );
    for (const end of ['pointerup', 'pointercancel'] as const)
      over.addEventListener(end, (event) => down.delete(event.pointerId), { signal });
    over.addEventListener(
      'click',
      (event) => {
        if (event.detail !== 1 || event.shiftKey || Math.abs(event.clientX - pressedAt) > stillPixels) return;
        this.host.seek(timeAt(event.clientX));
      },
      { signal },
    );
    return () => stop.abort();
  }
}
