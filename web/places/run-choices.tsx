import { useState } from 'react';
import { Label, Radio, RadioGroup } from 'react-aria-components';
import type { PlaceLevel } from '../../src/judge/places-report.ts';
import type { Version } from '../../src/server/api.ts';
import type { PlacesRequest } from '../../src/server/places-api.ts';
import { type ChosenSet, SetSelect } from '../sets/set-choice.tsx';

/** What a run is asked for, as far as the reader chooses. */
export interface RunChoice {
  readonly level: PlaceLevel;
  /** null: guessed from what both sides share. */
  readonly leadVersionId: string | null;
  readonly instrumentalVersionId: string | null;
}

const [leastDba, mostDba] = [30, 110];

/** How loud, against which references, and how the lead is known. A change is worked out at once where there is a result. */
export function RunChoices({
  choice,
  chosenSet,
  others,
  onChange,
}: {
  choice: RunChoice;
  chosenSet: ChosenSet;
  /** The other versions of the song. */
  others: readonly Version[];
  onChange: (choice: RunChoice) => void;
}) {
  const { level, leadVersionId, instrumentalVersionId } = choice;
  const lead = leadVersionId
    ? `lead ${leadVersionId}`
    : instrumentalVersionId
      ? `rest ${instrumentalVersionId}`
      : '';
  return (
    <div className="run-choices">
      <LevelChoice level={level} onChange={(next) => onChange({ ...choice, level: next })} />
      <div className="run-references">
        <SetSelect chosen={chosenSet} />
        {others.length > 0 && (
          <label className="find">
            The lead
            <select
              value={lead}
              onChange={(event) => {
                const [kind, id = null] = event.target.value.split(' ');
                onChange({
                  level,
                  leadVersionId: kind === 'lead' ? id : null,
                  instrumentalVersionId: kind === 'rest' ? id : null,
                });
              }}
            >
              <option value="">guessed from the middle</option>
              {others.map(({ id, name }) => (
                <option key={`lead ${id}`} value={`lead ${id}`}>
                  alone in {name}
                </option>
              ))}
              {others.map(({ id, name }) => (
                <option key={`rest ${id}`} value={`rest ${id}`}>
                  all but it in {name}
                </option>
              ))}
            </select>
          </label>
        )}
      </div>
    </div>
  );
}

function LevelChoice({ level, onChange }: { level: PlaceLevel; onChange: (level: PlaceLevel) => void }) {
  const own = typeof level === 'number';
  const [draft, setDraft] = useState(own ? String(level) : '70');
  const dba = Number(draft);
  const fits = draft.trim() !== '' && dba >= leastDba && dba <= mostDba;
  const take = () => {
    if (fits && dba !== level) onChange(dba);
  };
  return (
    <div className="level-choice">
      <RadioGroup
        value={own ? 'own' : level}
        onChange={(value) => {
          if (value !== 'own') onChange(value as 'talk-over' | 'loud');
          else if (fits) onChange(dba);
        }}
        orientation="horizontal"
        className="choice-row"
      >
        <Label className="choice-title">How loud it plays</Label>
        <Radio value="talk-over" className="check">
          <i className="dot" aria-hidden="true" />
          <span>
            Talk-over, <span className="note">what people talk over there</span>
          </span>
        </Radio>
        <Radio value="loud" className="check">
          <i className="dot" aria-hidden="true" />
          <span>
            Loud, <span className="note">what is loud there</span>
          </span>
        </Radio>
        <Radio value="own" className="check">
          <i className="dot" aria-hidden="true" />
          <span>One level everywhere</span>
        </Radio>
      </RadioGroup>
      {own && (
        <form
          className="own-level"
          onSubmit={(event) => {
            event.preventDefault();
            take();
          }}
        >
          <label className="find">
            Level at the ear
            <input
              className="reading num"
              inputMode="decimal"
              value={draft}
              onChange={(event) => setDraft(event.target.value)}
              onBlur={take}
              aria-invalid={!fits}
              aria-describedby="own-level-says"
            />
            dB(A)
          </label>
          <span id="own-level-says" className="note">
            {fits
              ? 'a mean over the song, A-weighted'
              : `A level from ${leastDba} to ${mostDba} dB(A) is needed.`}
          </span>
        </form>
      )}
    </div>
  );
}

/** What is asked of the server. */
export function requestOf(choice: RunChoice, setId: string | null): PlacesRequest {
  const { level, leadVersionId, instrumentalVersionId } = choice;
  return {
    level,
    ...(setId ? { setId } : {}),
    ...(leadVersionId ? { leadVersionId } : {}),
    ...(instrumentalVersionId ? { instrumentalVersionId } : {}),
  };
}
