import { useState } from 'react';
import type { Chain } from '../../src/finish/chain.ts';
import { limiter } from '../../src/finish/limiter.ts';
import type { FinishGoals } from '../../src/server/finishing-api.ts';
import { useCeilingSteps } from '../api/chain-queries.ts';
import { useSurviveFormats } from '../api/queries.ts';
import { FormatChoices } from '../survive/format-choices.tsx';
import { figure } from '../words/figures.ts';
import { FigureField, lufs } from './figure-field.tsx';
import type { EditedChain } from './use-chain.ts';

/** What the file has to meet: a loudness, a ceiling or formats to survive. */
export function Goals({
  edited,
  loudness,
  onLoudness,
  busy,
  onFinish,
}: {
  edited: EditedChain;
  loudness: number | null;
  onLoudness: (lufs: number | null) => void;
  busy: boolean;
  onFinish: (goals: Partial<FinishGoals>) => void;
}) {
  const formats = useSurviveFormats();
  const ownCeiling = ceilingOf(edited.chain);
  const [under, setUnder] = useState<'chain' | 'ceiling' | 'formats'>('chain');
  const [ceiling, setCeiling] = useState(ownCeiling ?? -1);
  const [ids, setIds] = useState<string[] | null>(null);
  const [stepsWanted, setStepsWanted] = useState(false);
  const chosenIds = ids ?? formats.data?.map(({ id }) => id) ?? [];
  return (
    <form
      className="goals"
      onSubmit={(event) => {
        event.preventDefault();
        onFinish({
          ...(loudness === null ? {} : { loudnessLufs: loudness }),
          ...(under === 'ceiling' ? { ceilingDbtp: ceiling } : {}),
          ...(under === 'formats' ? { survive: { formatIds: chosenIds, limitDbtp: 0 } } : {}),
        });
      }}
    >
      <p className="choice-line">
        <label className="check-line">
          <input
            type="checkbox"
            checked={loudness !== null}
            onChange={(event) => onLoudness(event.target.checked ? -14 : null)}
          />
          Bring it to a loudness
        </label>
        {loudness !== null && (
          <FigureField
            setting={lufs}
            value={loudness}
            label="Loudness of the file"
            shortLabel="to"
            onChange={onLoudness}
          />
        )}
      </p>
      <fieldset className="ceilings">
        <legend>True peak</legend>
        <label className="check-line">
          <input type="radio" name="under" checked={under === 'chain'} onChange={() => setUnder('chain')} />
          {ownCeiling === null
            ? 'as the chain leaves it; a limiter at −1 dBTP is put behind it'
            : `as the chain’s limiter holds it, ${figure(ownCeiling, 2)} dBTP`}
        </label>
        <label className="check-line">
          <input
            type="radio"
            name="under"
            checked={under === 'ceiling'}
            onChange={() => setUnder('ceiling')}
          />
          under another ceiling
        </label>
        {under === 'ceiling' && (
          <FigureField
            setting={limiter.fields.ceilingDbtp}
            value={ceiling}
            label="Ceiling of the file"
            onChange={setCeiling}
          />
        )}
        <label className="check-line">
          <input
            type="radio"
            name="under"
            checked={under === 'formats'}
            onChange={() => setUnder('formats')}
          />
          limit for these formats: each is really coded until all decode at or below full scale
        </label>
        {under === 'formats' &&
          (formats.data ? (
            <FormatChoices
              title="Formats it has to survive"
              formats={formats.data}
              ids={chosenIds}
              onChange={setIds}
            />
          ) : (
            <p className="note">{formats.error?.message ?? 'Reading the formats…'}</p>
          ))}
      </fieldset>
      {ownCeiling !== null && (
        <details onToggle={(event) => setStepsWanted(event.currentTarget.open)}>
          <summary>What each tenth of a decibel of ceiling costs</summary>
          {stepsWanted && <CeilingCosts edited={edited} />}
        </details>
      )}
      <p>
        <button
          type="submit"
          className="primary"
          disabled={busy || (under === 'formats' && chosenIds.length === 0)}
        >
          Finish {edited.detail.versionName}
        </button>
      </p>
      <p className="note">
        It becomes a new version of the song, checked like any other; this one stays as it is.
      </p>
    </form>
  );
}

/** The ceiling of the limiter that comes last; null where none is at work. */
function ceilingOf({ parts }: Chain): number | null {
  const last = parts.findLast(({ kind, bypassed }) => kind === 'limiter' && !bypassed);
  return last ? Number(last.settings.ceilingDbtp) : null;
}

function CeilingCosts({ edited }: { edited: EditedChain }) {
  const steps = useCeilingSteps(edited.detail.versionId, edited.detail.chain as Chain, true);
  if (!steps.data)
    return (
      <p className="note" role="status">
        {steps.error?.message ?? 'Rendering with one ceiling after the other…'}
      </p>
    );
  return (
    <table className="figures">
      <thead>
        <tr>
          <th scope="col" className="num">
            Ceiling <small>dBTP</small>
          </th>
          <th scope="col" className="num">
            Loudness <small>LUFS</small>
          </th>
          <th scope="col" className="num">
            Lost <small>LU</small>
          </th>
          <th scope="col" className="num">
            Limiter at most <small>dB</small>
          </th>
        </tr>
      </thead>
      <tbody>
        {steps.data.steps.map(({ ceilingDbtp, integratedLufs, lostLu, deepestDb }) => (
          <tr key={ceilingDbtp}>
            <th scope="row" className="num">
              {figure(ceilingDbtp)}
            </th>
            <td className="num">{figure(integratedLufs, 2)}</td>
            <td className="num">{figure(lostLu, 2)}</td>
            <td className="num">{figure(deepestDb)}</td>
          </tr>
        ))}
      </tbody>
    </table>
  );
}
