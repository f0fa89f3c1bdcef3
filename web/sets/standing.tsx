import { useState } from 'react';
import { useStanding } from '../api/keeping-queries.ts';
import { SpreadPlot } from '../plots/spread.tsx';
import { SpreadFigures } from './spread-figures.tsx';

/** How a version stands against a reference set: sentences, its tone over the set's spread, the other figures. */
export function StandingView({
  versionId,
  versionName,
  setId,
}: {
  versionId: string;
  versionName: string;
  setId: string;
}) {
  const standing = useStanding(versionId, setId);
  const [part, setPart] = useState('whole');
  if (standing.isError && !standing.data)
    return (
      <p className="sentence" role="status">
        {standing.error.message}
      </p>
    );
  if (!standing.data)
    return (
      <p className="note" role="status">
        Holding it against the set…
      </p>
    );
  const { headline, whole, sections } = standing.data;
  const shown = part === 'whole' ? whole : (sections[Number(part)] ?? whole);
  return (
    <div className="set-standing" data-standing>
      <p className="sentence standing-headline">{headline}</p>
      {sections.length > 0 && (
        <label className="find">
          Part
          <select value={part} onChange={(event) => setPart(event.target.value)}>
            <option value="whole">{whole.label}</option>
            {sections.map((section, i) => (
              <option key={section.startSeconds} value={i}>
                {section.label}
              </option>
            ))}
          </select>
        </label>
      )}
      <Sentences
        sentences={shown.sentences.filter((sentence) => sentence !== headline)}
        within={shown.sentences.length === 0}
        whole={shown === whole}
      />
      <SpreadPlot
        title={`Tone of ${versionName} against the set`}
        spread={shown.against}
        levelsDb={shown.levelsDb}
        name={versionName}
      />
      <SpreadFigures spread={shown.against} own={shown.figures} />
    </div>
  );
}

function Sentences({
  sentences,
  within,
  whole,
}: {
  /** Those that the headline has not said already. */
  sentences: readonly string[];
  within: boolean;
  whole: boolean;
}) {
  // The headline says it of the whole song.
  if (within && !whole)
    return <p className="sentence">This part lies within what your references do, in every figure.</p>;
  return (
    <ul className="change-words">
      {sentences.map((sentence) => (
        <li key={sentence} className="sentence">
          {sentence}
        </li>
      ))}
    </ul>
  );
}
