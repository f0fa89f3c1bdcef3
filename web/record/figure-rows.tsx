import type { RecordPlan } from '../../src/server/records-api.ts';
import { figure } from '../words/figures.ts';

const width = 600;
const [left, right] = [14, 586];

/** Songs beside each other, a row a figure: each number is a song, the tick the record's middle, the thick line what is usual. */
export function FigureRows({
  figures,
  titles,
}: {
  figures: RecordPlan['figures'];
  titles: readonly string[];
}) {
  return (
    <>
      {figures.map(({ id, label, unit, usual, middle, values }) => {
        const known = values.flatMap((value, song) => (value === null ? [] : [{ song, value }]));
        if (middle === null || known.length === 0) return null;
        const reach = Math.max(usual * 1.5, ...known.map(({ value }) => Math.abs(value - middle) * 1.1));
        const x = (value: number) => left + ((value - middle + reach) / (2 * reach)) * (right - left);
        const taken: { x: number; level: number }[] = [];
        const placed = [...known]
          .sort((a, b) => a.value - b.value)
          .map(({ song, value }) => {
            let level = 0;
            while (taken.some((other) => other.level === level && Math.abs(other.x - x(value)) < 18)) level++;
            taken.push({ x: x(value), level });
            return { song, value, level };
          });
        const height = 62 + 20 * Math.max(...placed.map(({ level }) => level));
        const y = height - 34;
        return (
          <figure key={id} className="song-figure">
            <figcaption>
              {label}, {unit}
            </figcaption>
            <svg
              viewBox={`0 0 ${width} ${height}`}
              role="img"
              aria-label={`${label}: ${known.map(({ song, value }) => `${song + 1} ${figure(value)}`).join(', ')} ${unit}`}
            >
              <line className="rule" x1={left} x2={right} y1={y} y2={y} />
              <line className="usual" x1={x(middle - usual)} x2={x(middle + usual)} y1={y} y2={y} />
              <line className="middle" x1={x(middle)} x2={x(middle)} y1={y - 6} y2={y + 6} />
              <text x={left} y={y + 27}>
                {figure(middle - reach)}
              </text>
              <text x={x(middle)} y={y + 27} textAnchor="middle">
                {figure(middle)}
              </text>
              <text x={right} y={y + 27} textAnchor="end">
                {figure(middle + reach)}
              </text>
              {placed.map(({ song, value, level }) => (
                <text key={song} className="of-song" x={x(value)} y={y - 9 - 20 * level} textAnchor="middle">
                  <title>{`${titles[song]}: ${figure(value)} ${unit}`}</title>
                  {song + 1}
                </text>
              ))}
            </svg>
          </figure>
        );
      })}
    </>
  );
}
