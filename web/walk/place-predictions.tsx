import type { Predictions } from '../../src/server/walk-api.ts';
import { bandNames } from '../places/band-names.ts';
import { difference } from '../words/figures.ts';

type Place = Predictions['places'][number];

/** How far a drawing reaches to either side of the middle of the references, phon. */
const reachPhon = 10;
const [height, rowAt] = [22, 11];

/** Every place as a small drawing: the five areas before and after, against what the references do there. */
export function PlacePredictions({ predictions: { places, sentences } }: { predictions: Predictions }) {
  return (
    <>
      {sentences.map((sentence) => (
        <p key={sentence} className="sentence">
          {sentence}
        </p>
      ))}
      <p className="note">
        Share of the loudness in each area, in phon (10 phon is twice as loud), at talk-over level. Bar: what
        your references do there. ○ before, ● after.
      </p>
      <ul className="prediction-grid">
        {places.map((place) => (
          <li key={place.placeId} className={place.stopIds.length > 0 ? 'of-walk' : undefined}>
            <h4>
              {place.name}
              {place.stopIds.length > 0 && <span className="note"> on the walk</span>}
            </h4>
            <Drawing place={place} />
            <p className="note">{place.sentence}</p>
          </li>
        ))}
      </ul>
    </>
  );
}

function Drawing({ place: { name, areas } }: { place: Place }) {
  return (
    <svg
      className="prediction"
      width="100%"
      height={areas.length * height + 16}
      role="img"
      aria-label={`${name}: ${areas.map(words).join('; ')}`}
    >
      {areas.map((area, i) => (
        <Row key={area.area} area={area} y={i * height + rowAt} />
      ))}
      <text className="axis" x="22%" y={areas.length * height + 12}>
        −{reachPhon}
      </text>
      <text className="axis middle" x="61%" y={areas.length * height + 12}>
        0 phon
      </text>
      <text className="axis end" x="100%" y={areas.length * height + 12}>
        +{reachPhon}
      </text>
    </svg>
  );
}

/** What the references do in the middle; their own width is drawn. */
function Row({ area, y }: { area: Place['areas'][number]; y: number }) {
  const { beforePhon, afterPhon, lowPhon, highPhon } = area;
  const middle = middleOf(area);
  const x = (phon: number) =>
    61 + (39 * Math.max(-reachPhon, Math.min(reachPhon, phon - middle))) / reachPhon;
  return (
    <>
      <text className="area-name" x="0" y={y + 4}>
        {bandNames[area.area].short}
      </text>
      <line className="rule" x1="22%" x2="100%" y1={y} y2={y} />
      {lowPhon !== null && highPhon !== null && (
        <rect
          className="theirs"
          x={`${x(lowPhon)}%`}
          width={`${Math.max(1, x(highPhon) - x(lowPhon))}%`}
          y={y - 5}
          height="10"
        />
      )}
      {beforePhon !== null && afterPhon !== null && (
        <line className="moved" x1={`${x(beforePhon)}%`} x2={`${x(afterPhon)}%`} y1={y} y2={y} />
      )}
      {beforePhon !== null && <circle className="before" cx={`${x(beforePhon)}%`} cy={y} r="4.5" />}
      {afterPhon !== null && <circle className="after" cx={`${x(afterPhon)}%`} cy={y} r="4.5" />}
      {beforePhon === null && afterPhon === null && (
        <text className="axis middle" x="61%" y={y + 4}>
          not heard
        </text>
      )}
    </>
  );
}

function middleOf({ lowPhon, highPhon, beforePhon, afterPhon }: Place['areas'][number]): number {
  if (lowPhon !== null && highPhon !== null) return (lowPhon + highPhon) / 2;
  return beforePhon ?? afterPhon ?? 0;
}

function words(area: Place['areas'][number]): string {
  const { beforePhon, afterPhon, lowPhon, highPhon } = area;
  const middle = middleOf(area);
  const against = (phon: number | null) => (phon === null ? 'not heard' : difference(phon - middle));
  const theirs =
    lowPhon !== null && highPhon !== null ? `, references ±${((highPhon - lowPhon) / 2).toFixed(1)}` : '';
  return `${bandNames[area.area].name} ${against(beforePhon)}, then ${against(afterPhon)} phon${theirs}`;
}
