import { gainChangeDb } from '../../src/finish/compressor-curve.ts';
import { figure } from '../words/figures.ts';
import { useWidth } from './use-width.ts';

interface Dynamics {
  readonly thresholdDbfs: number;
  readonly ratio: number;
  readonly kneeDb: number;
  readonly makeUpDb: number;
  readonly mixPercent: number;
}

const lowestDb = -60;
const levels = [-60, -50, -40, -30, -20, -10, 0];
const edge = { left: 40, right: 8, top: 8, bottom: 34 } as const;
const most = 280;

/** Level that comes out for one that goes in and stays: make-up and what is mixed in untouched included, dBFS. */
function comesOut(levelDb: number, { thresholdDbfs, ratio, kneeDb, makeUpDb, mixPercent }: Dynamics): number {
  const mix = mixPercent / 100;
  const gain = 10 ** ((gainChangeDb(levelDb, thresholdDbfs, ratio, kneeDb) + makeUpDb) / 20);
  return levelDb + 20 * Math.log10(Math.max(1e-6, 1 - mix + mix * gain));
}

/** What a compressor makes of every level, once it has settled. */
export function DynamicsCurve({ title, settings }: { title: string; settings: Dynamics }) {
  const [host, width] = useWidth<HTMLElement>();
  const size = Math.min(most, width);
  const inner = { width: size - edge.left - edge.right, height: size - edge.top - edge.bottom };
  const x = (db: number) => edge.left + (inner.width * (db - lowestDb)) / -lowestDb;
  const y = (db: number) => edge.top + (inner.height * -Math.max(lowestDb, Math.min(0, db))) / -lowestDb;
  const points = Array.from({ length: 121 }, (_, i) => lowestDb + i / 2);
  const path = points
    .map((db, i) => `${i === 0 ? 'M' : 'L'}${x(db).toFixed(1)} ${y(comesOut(db, settings)).toFixed(1)}`)
    .join('');
  const at = [settings.thresholdDbfs, -10, 0].filter((db, i, all) => all.indexOf(db) === i);
  const words = at
    .map((db) => `${figure(db)} comes out at ${figure(comesOut(db, settings))} dBFS`)
    .join(', ');
  return (
    <figure ref={host} className="frequency-plot dynamics-curve" aria-label={title}>
      <svg className="under" width={size} height={size} aria-hidden="true">
        {levels.map((db) => (
          <g key={db}>
            <line className="rule" x1={edge.left} x2={size - edge.right} y1={y(db)} y2={y(db)} />
            <line className="rule" x1={x(db)} x2={x(db)} y1={edge.top} y2={size - edge.bottom} />
            <text x={edge.left - 6} y={y(db) + 4} textAnchor="end">
              {figure(db, 0)}
            </text>
            <text x={x(db)} y={size - edge.bottom + 14} textAnchor="middle">
              {db % 20 === 0 ? figure(db, 0) : ''}
            </text>
          </g>
        ))}
        <text x={edge.left + inner.width / 2} y={size - 4} textAnchor="middle">
          level in, dBFS
        </text>
        <line className="zero" x1={x(lowestDb)} y1={y(lowestDb)} x2={x(0)} y2={y(0)} />
        <path className="curve" d={path} />
      </svg>
      <figcaption className="note">Level out over level in, steady sound: {words}.</figcaption>
    </figure>
  );
}
