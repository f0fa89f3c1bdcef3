import { type ReactNode, useId } from 'react';
import { difference, hertz as hertzText } from '../words/figures.ts';
import { drawnHertz, type NamedCurve } from './curves.ts';
import { useWidth } from './use-width.ts';

/** Where things lie in a drawing of gain over frequency. */
export interface Scale {
  readonly width: number;
  readonly height: number;
  readonly x: (hertz: number) => number;
  readonly y: (gainDb: number) => number;
  readonly hertzAt: (x: number) => number;
  readonly gainAt: (y: number) => number;
}

const height = 264;
const edge = { left: 44, right: 10, top: 10, bottom: 34 } as const;
const [lowestHz, highestHz] = [20, 20_000];
const marksHz = [20, 50, 100, 200, 500, 1000, 2000, 5000, 10_000, 20_000];
/** Those that are written where there is little room. */
const sparseHz: ReadonlySet<number> = new Set([20, 100, 1000, 10_000]);
/** How the curves of several signals are told apart without colour. */
const dashes = ['', '7 4', '2 3', '10 3 2 3'];

export function scaleOf(width: number, reachDb: number): Scale {
  const inner = Math.max(100, width - edge.left - edge.right);
  const tall = height - edge.top - edge.bottom;
  const octaves = Math.log(highestHz / lowestHz);
  return {
    width,
    height,
    x: (hertz) => edge.left + (inner * Math.log(hertz / lowestHz)) / octaves,
    y: (gainDb) => edge.top + tall * (0.5 - gainDb / (2 * reachDb)),
    hertzAt: (x) => lowestHz * Math.exp((octaves * (x - edge.left)) / inner),
    gainAt: (y) => reachDb * (1 - (2 * (y - edge.top)) / tall),
  };
}

/** The least round reach of the gain axis that shows everything, dB. */
export function reachOf(gains: readonly (readonly (number | null)[])[]): number {
  const most = gains.flat().reduce<number>((far, db) => Math.max(far, Math.abs(db ?? 0)), 0);
  return most <= 5.5 ? 6 : most <= 11 ? 12 : 24;
}

/** Gain over frequency with its axes. `wanted` is what was to be approached, `behind` what the whole chain does. */
export function FrequencyPlot({
  title,
  reachDb,
  curves,
  wanted = [],
  behind = null,
  children,
  onPoint,
}: {
  title: string;
  reachDb: number;
  curves: readonly NamedCurve[];
  wanted?: readonly { readonly hertz: number; readonly gainDb: number | null }[];
  behind?: readonly number[] | null;
  children?: (scale: Scale) => ReactNode;
  /** A double press in the empty plot. */
  onPoint?: (hertz: number, gainDb: number) => void;
}) {
  const [host, width] = useWidth<HTMLElement>();
  const clip = useId();
  const scale = scaleOf(width, reachDb);
  const { x, y } = scale;
  const step = reachDb / 3 > 4 ? 6 : reachDb > 6 ? 3 : 2;
  const levels = Array.from(
    { length: 2 * Math.floor(reachDb / step) + 1 },
    (_, i) => (i - Math.floor(reachDb / step)) * step,
  );
  const sparse = width < 480;
  const right = width - edge.right;
  const bottom = height - edge.bottom;
  return (
    <figure ref={host} className="frequency-plot" aria-label={title}>
      <svg className="under" width={width} height={height} aria-hidden="true">
        <g>
          {levels.map((db) => (
            <g key={db}>
              <line className={db === 0 ? 'zero' : 'rule'} x1={edge.left} x2={right} y1={y(db)} y2={y(db)} />
              <text x={edge.left - 6} y={y(db) + 4} textAnchor="end">
                {difference(db, 0)}
              </text>
            </g>
          ))}
          {marksHz.map((f, i) => (
            <g key={f}>
              <line className="rule" x1={x(f)} x2={x(f)} y1={edge.top} y2={bottom} />
              {(!sparse || sparseHz.has(f)) && (
                <text
                  x={x(f)}
                  y={bottom + 14}
                  textAnchor={i === 0 ? 'start' : f === highestHz ? 'end' : 'middle'}
                >
                  {hertzText(f)}
                </text>
              )}
            </g>
          ))}
          <text x={(edge.left + right) / 2} y={height - 4} textAnchor="middle">
            Hz
          </text>
          <text x={4} y={edge.top + 4}>
            dB
          </text>
          <clipPath id={clip}>
            <rect x={edge.left} y={edge.top} width={right - edge.left} height={bottom - edge.top} />
          </clipPath>
          <g clipPath={`url(#${clip})`}>
            {wanted.length > 0 && (
              <path
                className="wanted"
                d={pathOf(
                  wanted.map(({ hertz, gainDb }) => (gainDb === null ? null : [x(hertz), y(gainDb)])),
                )}
              />
            )}
            {behind && (
              <path className="behind" d={pathOf(behind.map((db, i) => [x(drawnHertz[i] ?? 20), y(db)]))} />
            )}
            {curves.map(({ name, gainDb }, c) => (
              <path
                key={name}
                className="curve"
                strokeDasharray={dashes[c]}
                d={pathOf(gainDb.map((db, i) => [x(drawnHertz[i] ?? 20), y(db)]))}
              />
            ))}
          </g>
        </g>
      </svg>
      {/* biome-ignore lint/a11y/noStaticElementInteractions: what a double press does has a button beside the plot */}
      <div
        className="over"
        style={{ height }}
        onDoubleClick={(event) => {
          const box = event.currentTarget.getBoundingClientRect();
          onPoint?.(scale.hertzAt(event.clientX - box.left), scale.gainAt(event.clientY - box.top));
        }}
      >
        {children?.(scale)}
      </div>
      {(curves.length > 1 || wanted.length > 0 || behind) && (
        <p className="plot-key">
          {curves.map(({ name }, c) => (
            <span key={name}>
              <svg width="28" height="8" aria-hidden="true">
                <line className="curve" strokeDasharray={dashes[c]} x1="0" x2="28" y1="4" y2="4" />
              </svg>{' '}
              {name}
            </span>
          ))}
          {wanted.length > 0 && (
            <span>
              <svg width="28" height="8" aria-hidden="true">
                <line className="wanted" x1="0" x2="28" y1="4" y2="4" />
              </svg>{' '}
              what was to be approached
            </span>
          )}
          {behind && (
            <span>
              <svg width="28" height="8" aria-hidden="true">
                <line className="behind" x1="0" x2="28" y1="4" y2="4" />
              </svg>{' '}
              all filters of the chain together
            </span>
          )}
        </p>
      )}
    </figure>
  );
}

/** A path through points; null breaks it. */
function pathOf(points: readonly (readonly [number, number] | null)[]): string {
  let open = false;
  return points
    .map((point) => {
      if (!point) {
        open = false;
        return '';
      }
      const text = `${open ? 'L' : 'M'}${point[0].toFixed(1)} ${point[1].toFixed(1)}`;
      open = true;
      return text;
    })
    .join('');
}
