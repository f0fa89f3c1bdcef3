import { useState } from 'react';
import type { Delivery, RecordDetail, RecordPlan } from '../../src/server/records-api.ts';
import { useDeliveryProfiles, useRecordChanges } from '../api/record-queries.ts';
import { FolderDialog } from '../parts/folder-dialog.tsx';
import { ProgressLine } from '../parts/job-line.tsx';
import { say } from '../parts/toasts.tsx';
import { AskDialog } from '../shootout/ask-dialog.tsx';
import { moment } from '../shootout/words.ts';
import { bytes, figure } from '../words/figures.ts';

type Record = RecordDetail['record'];

/** Which profiles, what stands in the way, and the deliveries so far. */
export function Delivering({
  detail,
  plan,
  onChange,
}: {
  detail: RecordDetail;
  plan: RecordPlan | undefined;
  onChange: (record: Record) => void;
}) {
  const { record, deliveries } = detail;
  const { deliver } = useRecordChanges(detail.id);
  const [choosing, setChoosing] = useState(false);
  return (
    <>
      <Profiles record={record} onChange={onChange} />
      {plan && <InTheWay record={record} points={plan.findings} onChange={onChange} />}
      <div className="act-line">
        <button
          type="button"
          className="primary"
          disabled={deliver.isPending}
          onClick={() => setChoosing(true)}
        >
          Deliver…
        </button>
        <p className="note">{plan?.headline}</p>
      </div>
      {deliveries.length > 0 && <h3>Deliveries</h3>}
      <ul className="plain-list deliveries">
        {deliveries.map((delivery) => (
          <li key={delivery.id}>
            <OneDelivery delivery={delivery} record={record} recordId={detail.id} onChange={onChange} />
          </li>
        ))}
      </ul>
      {choosing && (
        <FolderDialog
          act="Deliver into"
          waiting={deliver.isPending}
          onChosen={({ token }) =>
            deliver.mutate(token, {
              onSuccess: () => setChoosing(false),
              onError: (error) => say(error.message),
            })
          }
          onClose={() => setChoosing(false)}
        />
      )}
    </>
  );
}

function Profiles({ record, onChange }: { record: Record; onChange: (record: Record) => void }) {
  const profiles = useDeliveryProfiles();
  const chosen = new Set<string>(record.profiles);
  const toggle = (id: string) => {
    const wanted = (profiles.data ?? []).filter((each) =>
      each.id === id ? !chosen.has(id) : chosen.has(each.id),
    );
    if (wanted.length > 0)
      onChange({ ...record, profiles: wanted.map((each) => each.id as Record['profiles'][number]) });
  };
  return (
    <fieldset className="picks profile-picks">
      <legend className="note">What is delivered; at least one</legend>
      {profiles.data?.map(({ id, name, about, terms }) => (
        <div key={id}>
          <label className="pick">
            <input type="checkbox" checked={chosen.has(id)} onChange={() => toggle(id)} />
            <span>{name}</span>
            <span className="note">{about}</span>
          </label>
          {chosen.has(id) && (
            <details>
              <summary className="note">Its contract</summary>
              <ul className="note">
                {terms.map((term) => (
                  <li key={term}>{term}</li>
                ))}
              </ul>
            </details>
          )}
        </div>
      ))}
    </fieldset>
  );
}

/** A point that is not met, or good to know. */
interface Point {
  readonly id: string;
  readonly weight: 'must' | 'know';
  readonly sentence: string;
  readonly takenBy: string | null;
}

function InTheWay({
  record,
  points,
  onChange,
}: {
  record: Record;
  points: readonly Point[];
  onChange: (record: Record) => void;
}) {
  const [asking, setAsking] = useState<Point | null>(null);
  const [by, setBy] = useState('');
  const [why, setWhy] = useState('');
  if (points.length === 0) return null;
  const take = (check: string) => {
    onChange({
      ...record,
      accepted: [...record.accepted.filter((each) => each.check !== check), { check, by: by.trim(), why }],
    });
    setAsking(null);
  };
  return (
    <>
      <ul className="plain-list in-the-way">
        {points.map((point) => (
          <li key={point.id}>
            <p className="sentence">
              <b>
                {point.weight === 'know'
                  ? 'To know.'
                  : point.takenBy === null
                    ? 'To mend.'
                    : `Taken on by ${point.takenBy}.`}
              </b>{' '}
              {point.sentence}
            </p>
            {point.weight === 'must' && point.takenBy === null && (
              <button type="button" className="plain" onClick={() => setAsking(point)}>
                Take it on…
              </button>
            )}
            {point.takenBy !== null && (
              <button
                type="button"
                className="plain"
                onClick={() =>
                  onChange({ ...record, accepted: record.accepted.filter(({ check }) => check !== point.id) })
                }
              >
                Take it back
              </button>
            )}
          </li>
        ))}
      </ul>
      {asking && (
        <AskDialog
          title="Deliver with this all the same?"
          act="Take it on"
          leave="Leave it"
          waiting={by.trim() === ''}
          onAct={() => take(asking.id)}
          onClose={() => setAsking(null)}
        >
          <p>{asking.sentence}</p>
          <p className="note">It stands in the report, with who took it on.</p>
          <div className="field-grid">
            <label>
              Who takes it on
              <input maxLength={200} value={by} onChange={(event) => setBy(event.target.value)} />
            </label>
            <label>
              Why
              <input maxLength={1000} value={why} onChange={(event) => setWhy(event.target.value)} />
            </label>
          </div>
          {by.trim() === '' && (
            <button type="button" className="plain" onClick={() => setAsking(null)}>
              Leave it
            </button>
          )}
        </AskDialog>
      )}
    </>
  );
}

const stateWords = {
  running: 'under way',
  done: '✓ delivered',
  refused: 'not delivered: something is not met',
  failed: 'stopped by an error',
  stopped: 'stands still',
} as const;

function OneDelivery({
  delivery,
  record,
  recordId,
  onChange,
}: {
  delivery: Delivery;
  record: Record;
  recordId: string;
  onChange: (record: Record) => void;
}) {
  const { id, folder, state, stage, progress, result, error, createdAt } = delivery;
  const { stop, resume } = useRecordChanges(recordId);
  const wrong = (failure: Error) => say(failure.message);
  const taken = new Map(record.accepted.map(({ check, by }) => [check, by]));
  const failed = (result?.files ?? []).flatMap(({ name, failed: points }) =>
    points.map(
      (point): Point => ({
        id: point.id,
        weight: 'must',
        sentence: `${name}: ${point.what}, wanted ${point.wanted}, found ${point.found}.`,
        takenBy: taken.get(point.id) ?? null,
      }),
    ),
  );
  return (
    <>
      <p>
        <b>{stateWords[state]}</b> <code className="path">{folder}</code>
        <span className="note num">, {moment(createdAt)}</span>
      </p>
      {state === 'running' && (
        <ProgressLine
          label="Delivering"
          stage={stage}
          progress={progress}
          cancelLabel="Let the delivery stand still"
          cancelling={stop.isPending}
          onCancel={() => stop.mutate(id, { onError: wrong })}
        />
      )}
      {error && <p className="sentence">{error.message}</p>}
      {state === 'refused' && <InTheWay record={record} points={failed} onChange={onChange} />}
      {(state === 'stopped' || state === 'failed' || state === 'refused') && (
        <div className="act-line">
          <button
            type="button"
            className="secondary"
            disabled={resume.isPending}
            onClick={() => resume.mutate(id, { onError: wrong })}
          >
            Go on with it
          </button>
          <p className="note">
            What was made is kept; it goes on where it was, with the record as it was then.
          </p>
        </div>
      )}
      {result && (
        <details>
          <summary className="note">
            {result.files.length} files
            {state === 'done' && ', each read back and held against its contract'}
          </summary>
          <div className="scroll">
            <table className="figures-table">
              <thead>
                <tr>
                  <th scope="col">File</th>
                  <th scope="col" className="num">
                    Size
                  </th>
                  <th scope="col" className="num">
                    LUFS
                  </th>
                  <th scope="col" className="num">
                    dBTP
                  </th>
                  <th scope="col" className="num">
                    Met
                  </th>
                </tr>
              </thead>
              <tbody>
                {result.files.map((file) => (
                  <tr key={file.name}>
                    <td>{file.name}</td>
                    <td className="num">{file.bytes === null ? '–' : bytes(file.bytes)}</td>
                    <td className="num">{figure(file.integratedLufs)}</td>
                    <td className="num">{figure(file.truePeakDbtp)}</td>
                    <td className="num">
                      {file.met} of {file.points}
                    </td>
                  </tr>
                ))}
              </tbody>
            </table>
          </div>
          <p>
            <a href={`/api/deliveries/${id}/report`} target="_blank" rel="noreferrer">
              The whole report
            </a>
          </p>
        </details>
      )}
    </>
  );
}
