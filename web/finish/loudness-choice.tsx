import { useState } from 'react';
import type { FinishReport } from '../../src/judge/finish-report.ts';
import type { Finishing, LoudnessChoice } from '../../src/server/finishing-api.ts';
import type { Changes } from '../api/queries.ts';
import { isActive, JobLine } from '../parts/job-line.tsx';
import { difference, figure } from '../words/figures.ts';
import { FigureField, lufs } from './figure-field.tsx';
import type { EditedChain } from './use-chain.ts';

/** Several loudnesses, what each costs, and each to be heard at equal loudness before one is chosen. */
export function LoudnessChoiceView({
  edited,
  known,
  changes,
  onTry,
  trouble,
  heard,
  onHear,
  chosen,
  onChoose,
  onKeep,
}: {
  edited: EditedChain;
  known: Finishing | undefined;
  changes: Changes;
  onTry: (candidates: number[]) => void;
  trouble: Error | null;
  heard: string;
  onHear: (id: string) => void;
  chosen: number | null;
  onChoose: (lufs: number) => void;
  /** The draft itself becomes a version: no sample is rendered again. */
  onKeep: (draftId: string) => void;
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
        <Costs
          choice={choice}
          heard={heard}
          onHear={onHear}
          chosen={chosen}
          onChoose={onChoose}
          onKeep={onKeep}
        />
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
  onKeep,
}: {
  choice: LoudnessChoice;
  heard: string;
  onHear: (id: string) => void;
  chosen: number | null;
  onChoose: (lufs: number) => void;
  /** The draft itself becomes a version: no sample is rendered again. */
  onKeep: (draftId: string) => void;
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
                At a service <small>turned by dB</small>
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
                      </button>{' '}
                      <button type="button" className="plain" onClick={() => onKeep(draft.id)}>
                        Make {figure(targetLufs)} a version
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
        {figure(service?.turnedByDb)}
        {service && <small>of {figure(service.targetLufs, 0)} LUFS</small>}
      </td>
    </>
  );
}
