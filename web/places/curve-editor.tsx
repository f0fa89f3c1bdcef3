import { useId, useMemo, useRef } from 'react';
import { CurvePlot } from '../plots/curve.tsx';
import { type DraftPoint, draftPoint, drawnCurve, numberOf } from './place-draft.ts';

/** dB that an arrow key moves a point, and with Shift. */
const [stepDb, farDb] = [0.5, 3];

/** A curve as points in a table, drawn as one types. Arrow keys move a level; Enter goes on to the next point. */
export function CurveEditor({
  title,
  points,
  error,
  errorAt,
  onChange,
}: {
  title: string;
  points: readonly DraftPoint[];
  /** What is wrong with the curve as a whole. */
  error: string | undefined;
  /** What is wrong with one figure of a point. */
  errorAt: (index: number, of: 'hertz' | 'db') => string | undefined;
  onChange: (points: readonly DraftPoint[]) => void;
}) {
  const id = useId();
  const body = useRef<HTMLTableSectionElement>(null);
  const curve = useMemo(() => drawnCurve(points), [points]);
  const wrong = points.flatMap((_, i) =>
    (['hertz', 'db'] as const).flatMap((of) => {
      const text = errorAt(i, of);
      return text ? [`Point ${i + 1}, ${of === 'hertz' ? 'Hz' : 'dB'}: ${text}`] : [];
    }),
  );
  const set = (index: number, of: 'hertz' | 'db', value: string) =>
    onChange(points.map((point, i) => (i === index ? { ...point, [of]: value } : point)));
  const sorted = () =>
    onChange(points.toSorted((a, b) => (numberOf(a.hertz) || 0) - (numberOf(b.hertz) || 0)));
  const focusAt = (index: number, of: 'hertz' | 'db') =>
    requestAnimationFrame(() =>
      body.current?.querySelectorAll<HTMLInputElement>(`[data-of="${of}"]`)[index]?.focus(),
    );
  const add = (after: number) => {
    const [here, next] = [points[after], points[after + 1]];
    const from = numberOf(here?.hertz ?? '');
    const to = next ? numberOf(next.hertz) : from * 2;
    // In the middle of its neighbours by ear.
    const between = Math.round(Math.sqrt(from * to));
    const hertz = between > 0 && Number.isFinite(between) ? String(Math.min(24_000, between)) : '';
    onChange([...points.slice(0, after + 1), draftPoint(hertz, here?.db ?? '0'), ...points.slice(after + 1)]);
    focusAt(after + 1, 'hertz');
  };
  const onKeyDown = (event: React.KeyboardEvent, index: number, of: 'hertz' | 'db') => {
    if (event.key === 'Enter') {
      // Within a form Enter would save.
      event.preventDefault();
      if (index === points.length - 1) add(index);
      else focusAt(index + 1, of);
      return;
    }
    const up = event.key === 'ArrowUp' ? 1 : event.key === 'ArrowDown' ? -1 : 0;
    const db = numberOf(points[index]?.db ?? '');
    if (of !== 'db' || up === 0 || Number.isNaN(db)) return;
    event.preventDefault();
    set(index, 'db', String(Number((db + up * (event.shiftKey ? farDb : stepDb)).toFixed(2))));
  };
  return (
    <div className="curve-editor">
      {curve.length > 0 ? (
        <CurvePlot title={title} curve={curve} what="as typed" />
      ) : (
        <p className="note">Nothing to draw yet: a point needs a frequency and a level.</p>
      )}
      <div>
        {/* biome-ignore lint/a11y/noNoninteractiveTabindex: a part that scrolls must be reachable by keyboard */}
        <section className="curve-points" aria-label={`Points: ${title}`} tabIndex={0}>
          <table>
            <thead>
              <tr>
                <th scope="col">Hz</th>
                <th scope="col">dB</th>
                <td />
              </tr>
            </thead>
            <tbody ref={body}>
              {points.map((point, i) => (
                <tr key={point.key}>
                  {(['hertz', 'db'] as const).map((of) => (
                    <td key={of}>
                      <input
                        className="num"
                        type="text"
                        inputMode="decimal"
                        data-of={of}
                        aria-label={`Point ${i + 1}, ${of === 'hertz' ? 'Hz' : 'dB'}`}
                        aria-invalid={errorAt(i, of) !== undefined}
                        aria-describedby={wrong.length > 0 ? id : undefined}
                        value={point[of]}
                        onChange={(event) => set(i, of, event.target.value)}
                        onBlur={of === 'hertz' ? sorted : undefined}
                        onKeyDown={(event) => onKeyDown(event, i, of)}
                      />
                    </td>
                  ))}
                  <td>
                    <button
                      type="button"
                      className="plain"
                      disabled={points.length === 1}
                      aria-label={`Remove point ${i + 1}, ${point.hertz} Hz`}
                      onClick={() => {
                        onChange(points.filter((_, j) => j !== i));
                        focusAt(Math.max(0, i - 1), 'hertz');
                      }}
                    >
                      ×
                    </button>
                  </td>
                </tr>
              ))}
            </tbody>
          </table>
        </section>
        <p>
          <button type="button" className="plain" onClick={() => add(points.length - 1)}>
            Add a point
          </button>
        </p>
        <p className="note">Arrow up and down: half a dB, with Shift 3 dB. Enter: the next point.</p>
        <div id={id} role="status">
          {[...(error ? [error] : []), ...wrong].map((text) => (
            <p key={text} className="field-error">
              {text}
            </p>
          ))}
        </div>
      </div>
    </div>
  );
}
