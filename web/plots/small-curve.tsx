import type { Curve } from '../../src/places/place.ts';

const width = 200;
const height = 60;
const [fromHz, toHz] = [20, 20_000];

/**
 * A curve over frequency so small that only its form is read: octaves of ten as thin uprights, 0 dB as a line across.
 *
 * @param span dB at the foot and at the top
 */
export function SmallCurve({
  curve,
  label,
  heldBelowHz = null,
  span = [-36, 12],
}: {
  curve: Curve;
  /** What it says, for those who cannot see it. */
  label: string;
  /** Below this strong bass is held back: a wash. */
  heldBelowHz?: number | null;
  span?: readonly [number, number];
}) {
  const x = (hertz: number) => (width * Math.log(hertz / fromHz)) / Math.log(toHz / fromHz);
  const y = (db: number) => (height * (span[1] - db)) / (span[1] - span[0]);
  const [first, last] = [curve[0], curve.at(-1)];
  // Flat beyond the ends, as the curve is read everywhere.
  const points = [
    ...(first ? [{ hertz: fromHz, db: first.db }] : []),
    ...curve.filter(({ hertz }) => hertz > fromHz && hertz < toHz),
    ...(last ? [{ hertz: toHz, db: last.db }] : []),
  ];
  return (
    <svg
      className="small-curve"
      viewBox={`0 0 ${width} ${height}`}
      preserveAspectRatio="none"
      role="img"
      aria-label={label}
    >
      {heldBelowHz !== null && <rect className="held" x={0} y={0} width={x(heldBelowHz)} height={height} />}
      {[100, 1000, 10_000].map((hertz) => (
        <line key={hertz} className="rule" x1={x(hertz)} x2={x(hertz)} y1={0} y2={height} />
      ))}
      {span[0] < 0 && span[1] > 0 && <line className="zero" x1={0} x2={width} y1={y(0)} y2={y(0)} />}
      <polyline
        className="line"
        points={points
          .map(({ hertz, db }) => `${x(hertz).toFixed(1)},${Math.min(height, Math.max(0, y(db))).toFixed(1)}`)
          .join(' ')}
      />
    </svg>
  );
}
