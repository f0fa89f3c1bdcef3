import { useState } from 'react';
import { Link } from 'wouter';
import { type Chain, readChain } from '../../src/finish/chain.ts';
import { limiter } from '../../src/finish/limiter.ts';
import type { FinishReport } from '../../src/judge/finish-report.ts';
import type { FinishGoals, Finishing as Known, LoudnessChoice } from '../../src/server/finishing-api.ts';
import { useCeilingSteps, useFinishActs, useFinishing } from '../api/chain-queries.ts';
import { type Changes, useChanges, useSurviveFormats } from '../api/queries.ts';
import { isActive, JobLine } from '../parts/job-line.tsx';
import { FormatChoices } from '../survive/format-choices.tsx';
import { count, difference, figure } from '../words/figures.ts';
import { FigureField, type FigureSetting } from './figure-field.tsx';
import type { EditedChain } from './use-chain.ts';

const lufs: FigureSetting = { label: 'loudness', unit: 'LUFS', lowest: -40, highest: -3 };

/** A candidate of the loudness choice that can be heard. */
export interface Candidate {
  readonly id: string;
  readonly name: string;
  readonly chain: Chain;
}

/** The candidates that are made, as sounds among those of the page: each is the chain with its limiter driven as far. */
export function candidatesOf(choice: LoudnessChoice | null): Candidate[] {
  return (choice?.candidates ?? []).flatMap(({ targetLufs, draft }) =>
    draft
      ? [
          {
            id: `draft-${draft.id}`,
            name: `${figure(targetLufs)} LUFS`,
            chain: readChain(draft.report.chain),
          },
        ]
      : [],
  );
}

/** From the chain to a file: how loud, under which ceiling or for which formats, and what came of it. */
export function Finishing({
  edited,
  heard,
  onHear,
}: {
  edited: EditedChain;
  heard: string;
  onHear: (id: string) => void;
}) {
  const { versionId } = edited.detail;
  const known = useFinishing(versionId);
  const changes = useChanges();
  const acts = useFinishActs(versionId);
  const [loudness, setLoudness] = useState<number | null>(null);
  return (
    <section className="finishing" aria-labelledby="finishing">
      <h2 id="finishing">Finish it</h2>
      <LoudnessChoiceView
        edited={edited}
        known={known.data}
        changes={changes}
        onTry={(candidates) =>
          void edited.keep().then(() => acts.tryLoudness.mutate({ chain: plain(edited.chain), candidates }))
        }
        trouble={acts.tryLoudness.error ?? known.error}
        heard={heard}
        onHear={onHear}
        chosen={loudness}
        onChoose={setLoudness}
      />
      <Goals
        edited={edited}
        loudness={loudness}
        onLoudness={setLoudness}
        busy={isActive(known.data?.job ?? null) || acts.finish.isPending}
        onFinish={(goals) =>
          void edited
            .keep()
            .then(() => acts.finish.mutate({ chain: plain(edited.chain), goals, chainId: edited.detail.id }))
        }
      />
      {acts.finish.error && (
        <p className="sentence" role="alert">
          {acts.finish.error.message}
        </p>
      )}
      {known.data && isActive(known.data.job) && (
        <JobLine job={known.data.job} of={edited.detail.versionName} doing="finishing" changes={changes} />
      )}
      {known.data?.job?.state === 'failed' && (
        <p className="sentence" role="alert">
          {known.data.job.error?.message ?? 'The finishing failed.'} Nothing was left behind.
        </p>
      )}
      {known.data?.job?.state === 'cancelled' && (
        <p className="note">The last finishing was cancelled; nothing was left behind.</p>
      )}
      <MadeList known={known.data} />
    </section>
  );
}

const plain = (chain: Chain) => ({ ...chain, parts: [...chain.parts] });

function LoudnessChoiceView({
  edited,
  known,
  changes,
  onTry,
  trouble,
  heard,
  onHear,
  chosen,
  onChoose,
}: {
  edited: EditedChain;
  known: Known | undefined;
  changes: Changes;
  onTry: (candidates: number[]) => void;
  trouble: Error | null;
  heard: string;
  onHear: (id: string) => void;
  chosen: number | null;
  onChoose: (lufs: number) => void;
}) {
  const [targets, setTargets] = useState<readonly number[]>([-9, -11, -14]);
  const job = known?.loudnessJob ?? null;
  const choice = known?.choice ?? null;
  return (
    <>
      <h3>How loud</h3>
      <p className="note">
        Several loudnesses are made, and what each costs is measured. Hear them at equal loudness before you
        choose: then the louder one has to be better, not only louder.
      </p>
      <div className="candidates">
        {targets.map((target, i) => (
          // biome-ignore lint/suspicious/noArrayIndexKey: candidates have no name but their place
          <div key={i} className="candidate">
            <FigureField
              setting={lufs}
              value={target}
              label={`Candidate ${i + 1}`}
              shortLabel={`candidate ${i + 1}`}
              onChange={(next) => setTargets(targets.with(i, next))}
            />
            {targets.length > 1 && (
              <button
                type="button"
                className="plain"
                aria-label={`leave out candidate ${i + 1}`}
                onClick={() => setTargets(targets.toSpliced(i, 1))}
              >
                leave out
              </button>
            )}
          </div>
        ))}
        {targets.length < 6 && (
          <button
            type="button"
            className="plain"
            onClick={() => setTargets([...targets, Math.max(-40, (targets.at(-1) ?? -14) - 2)])}
          >
            one more
          </button>
        )}
      </div>
      {isActive(job) ? (
        <JobLine job={job} of={edited.detail.versionName} doing="trying loudnesses of" changes={changes} />
      ) : (
        <p>
          <button type="button" className="secondary" onClick={() => onTry([...targets])}>
            Make {targets.length === 1 ? 'it' : `these ${targets.length}`} and measure what they cost
          </button>
        </p>
      )}
      {trouble && (
        <p className="sentence" role="alert">
          {trouble.message}
        </p>
      )}
      {job?.state === 'failed' && (
        <p className="sentence" role="alert">
          {job.error?.message ?? 'They could not be made.'}
        </p>
      )}
      {choice?.candidates.some(({ draft, failure }) => draft || failure) && (
        <Costs choice={choice} heard={heard} onHear={onHear} chosen={chosen} onChoose={onChoose} />
      )}
    </>
  );
}

/** What each candidate costs, side by side. */
function Costs({
  choice,
  heard,
  onHear,
  chosen,
  onChoose,
}: {
  choice: LoudnessChoice;
  heard: string;
  onHear: (id: string) => void;
  chosen: number | null;
  onChoose: (lufs: number) => void;
}) {
  return (
    <>
      {/* biome-ignore lint/a11y/noNoninteractiveTabindex: a part that scrolls must be reachable by keyboard */}
      <section className="scroll" aria-label="What each loudness costs" tabIndex={0}>
        <table className="figures costs">
          <thead>
            <tr>
              <th scope="col">Loudness</th>
              <th scope="col" className="num">
                True peak <small>dBTP</small>
              </th>
              <th scope="col" className="num">
                Crest <small>dB</small>
              </th>
              <th scope="col" className="num">
                Onsets <small>dB</small>
              </th>
              <th scope="col" className="num">
                Limiter at most <small>dB</small>
              </th>
              <th scope="col" className="num">
                Added <small>dB under the sound</small>
              </th>
              <th scope="col" className="num">
                Left at −14 LUFS <small>LU louder</small>
              </th>
              <th scope="col">
                <span className="hidden">What to do with it</span>
              </th>
            </tr>
          </thead>
          <tbody>
            {choice.candidates.map(({ targetLufs, draft, failure }) => (
              <tr key={targetLufs} className={chosen === targetLufs ? 'chosen' : undefined}>
                <th scope="row" className="num">
                  {figure(targetLufs)} LUFS
                </th>
                {draft ? (
                  <>
                    <CostCells report={draft.report} />
                    <td>
                      <button
                        type="button"
                        className="act"
                        aria-pressed={heard === `draft-${draft.id}`}
                        onClick={() => onHear(`draft-${draft.id}`)}
                      >
                        Hear {figure(targetLufs)}
                      </button>{' '}
                      <button
                        type="button"
                        className="act"
                        aria-pressed={chosen === targetLufs}
                        onClick={() => onChoose(targetLufs)}
                      >
                        Choose {figure(targetLufs)}
                      </button>
                    </td>
                  </>
                ) : (
                  <td colSpan={7}>{failure ? failure.message : 'not made yet'}</td>
                )}
              </tr>
            ))}
          </tbody>
        </table>
      </section>
      {choice.sentences.map((sentence) => (
        <p key={sentence} className="sentence">
          {sentence}
        </p>
      ))}
    </>
  );
}

function CostCells({ report: { made, cost, normalised } }: { report: FinishReport }) {
  const [service] = normalised;
  return (
    <>
      <td className="num">{figure(made.truePeakDbtp, 2)}</td>
      <td className="num">
        {figure(cost?.crestAfterDb)}
        {cost?.crestBeforeDb != null && cost.crestAfterDb !== null && (
          <small>{difference(cost.crestAfterDb - cost.crestBeforeDb)}</small>
        )}
      </td>
      <td className="num">{difference(cost?.onsets.changeDb, 2)}</td>
      <td className="num">{figure(cost?.reduction.deepestDb)}</td>
      <td className="num">{cost?.errorDb == null ? '–' : figure(Math.abs(cost.errorDb))}</td>
      <td className="num">
        {service && made.integratedLufs !== null
          ? figure(Math.max(0, service.playsAtLufs - service.targetLufs))
          : '–'}
      </td>
    </>
  );
}

function Goals({
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

/** Versions that were made from this one, with what was done to them. */
function MadeList({ known }: { known: Known | undefined }) {
  if (!known || known.made.length === 0) return null;
  return (
    <>
      <h3>{count(known.made.length, 'version')} made from it</h3>
      <ul className="plain-list">
        {known.made.map(({ versionId, report }) => (
          <li key={versionId}>
            <Link href={`/versions/${versionId}`}>The verdict on it</Link>
            {report.sentences.slice(0, 2).map((sentence) => (
              <p key={sentence} className="sentence">
                {sentence}
              </p>
            ))}
          </li>
        ))}
      </ul>
    </>
  );
}
