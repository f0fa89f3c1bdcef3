/** One line of the plot: a value with its interval; an end that is open is null. */
export interface IntervalRow {
  readonly id: string;
  readonly name: string;
  readonly value: number;
  readonly low: number | null;
  readonly high: number | null;
  /** At the end of the line, in words and figures. */
  readonly reading: string;
  /** The same without listeners set aside. */
  readonly second?: {
    readonly value: number;
    readonly low: number | null;
    readonly high: number | null;
  } | null;
  /** No entry, but something to hold entries against. */
  readonly aside?: boolean;
}

export interface IntervalAxis {
  readonly from: number;
  readonly to: number;
  readonly ticks: readonly { readonly at: number; readonly label: string }[];
  /** Under the axis: what it is, and its unit. */
  readonly label: string;
  /** A line across all rows: where nothing differs. */
  readonly zero?: number;
}

/** Values with their intervals, one line each, over one axis. An arrow stands where an interval has no end. */
export function IntervalPlot({
  title,
  rows,
  axis,
}: {
  title: string;
  rows: readonly IntervalRow[];
  axis: IntervalAxis;
}) {
  const share = (value: number) =>
    (100 * (Math.min(axis.to, Math.max(axis.from, value)) - axis.from)) / (axis.to - axis.from);
  const two = rows.some(({ second }) => second);
  return (
    <figure className="intervals" aria-label={title}>
      <div className="interval-grid">
        <ul>
          {rows.map(({ id, name, reading, second, aside, ...main }) => (
            <li key={id} className={aside ? 'interval-row aside' : 'interval-row'}>
              <span className="interval-name">{name}</span>
              <span className={two ? 'interval-track two' : 'interval-track'} aria-hidden="true">
                {axis.zero !== undefined && (
                  <i className="interval-zero" style={{ left: `${share(axis.zero)}%` }} />
                )}
                <Mark {...main} axis={axis} share={share} />
                {second && <Mark {...second} axis={axis} share={share} second />}
              </span>
              <span className="interval-reading num">{reading}</span>
            </li>
          ))}
        </ul>
        <div className="interval-row interval-axis" aria-hidden="true">
          <span />
          <span className="interval-track">
            {axis.ticks.map(({ at, label }) => (
              <span key={at} className="interval-tick num" style={{ left: `${share(at)}%` }}>
                {label}
              </span>
            ))}
          </span>
          <span />
        </div>
      </div>
      <figcaption className="note">
        {axis.label}. Lines are 95 % intervals{two && '; open marks leave out the listeners set aside'}.
      </figcaption>
    </figure>
  );
}

function Mark({
  value,
  low,
  high,
  second = false,
  axis,
  share,
}: {
  value: number;
  low: number | null;
  high: number | null;
  second?: boolean;
  axis: IntervalAxis;
  share: (value: number) => number;
}) {
  const from = share(low ?? axis.from);
  const to = share(high ?? axis.to);
  return (
    <span className={second ? 'interval second' : 'interval'}>
      <i className="interval-line" style={{ left: `${from}%`, width: `${to - from}%` }} />
      {(low === null || low < axis.from) && <i className="interval-arrow from" />}
      {(high === null || high > axis.to) && <i className="interval-arrow to" />}
      <i className="interval-dot" style={{ left: `${share(value)}%` }} />
    </span>
  );
}
