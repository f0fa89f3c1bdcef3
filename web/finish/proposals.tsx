import { useEffect, useId, useMemo, useState } from 'react';
import { Link } from 'wouter';
import type { Chain } from '../../src/finish/chain.ts';
import type { Band } from '../../src/finish/equaliser.ts';
import type { PartKindId } from '../../src/finish/kinds.ts';
import { takeOver } from '../../src/finish/take-over.ts';
import type { Proposal, ProposalRequest } from '../../src/server/chains-api.ts';
import { acceptProposal, useProposal } from '../api/chain-queries.ts';
import { useShootouts } from '../api/shootout-queries.ts';
import { useWalks } from '../api/walk-queries.ts';
import { useChosenSet } from '../sets/set-choice.tsx';
import { count } from '../words/figures.ts';
import { curvesOf } from './curves.ts';
import { FrequencyPlot, reachOf } from './frequency-plot.tsx';
import type { EditedChain } from './use-chain.ts';

type From = ProposalRequest['from'];

/** What the chain could take over: looked at, heard and refused piece by piece before anything is changed. */
export function Proposals({
  edited,
  songId,
  hearing,
  onPreview,
  onHear,
}: {
  edited: EditedChain;
  songId: string;
  /** Whether the chain with what is proposed is heard. */
  hearing: boolean;
  /** The chain with what is not refused; null while there is nothing. */
  onPreview: (chain: Chain | null) => void;
  onHear: (on: boolean) => void;
}) {
  const [request, setRequest] = useState<ProposalRequest | null>(null);
  return (
    <section className="proposals" aria-labelledby="proposals">
      <h2 id="proposals">Something to begin from</h2>
      <Sources songId={songId} request={request} onChange={setRequest} />
      {request && (
        <Shown
          key={JSON.stringify({ ...request, strengthPercent: null })}
          edited={edited}
          request={request}
          hearing={hearing}
          onPreview={onPreview}
          onHear={onHear}
          onRequest={setRequest}
          onDone={() => setRequest(null)}
        />
      )}
    </section>
  );
}

function Sources({
  songId,
  request,
  onChange,
}: {
  songId: string;
  request: ProposalRequest | null;
  onChange: (request: ProposalRequest | null) => void;
}) {
  const { sets, set, choose } = useChosenSet();
  const walks = useWalks(songId).data ?? [];
  const shootouts = (useShootouts(songId).data ?? []).filter(({ state }) => state === 'revealed');
  const [walk] = walks;
  const [shootout] = shootouts;
  const usual: Record<From, ProposalRequest | null> = {
    references: set && { from: 'references', setId: set.id, strengthPercent: 50 },
    walk: walk ? { from: 'walk', walkId: walk.id } : null,
    shootout: shootout ? { from: 'shootout', shootoutId: shootout.id } : null,
  };
  const choices: readonly { from: From; words: string; missing: React.ReactNode }[] = [
    {
      from: 'references',
      words: 'The difference to your references',
      missing: (
        <>
          needs a <Link href="/sets">reference set</Link>
        </>
      ),
    },
    { from: 'walk', words: 'The correction from a walk', missing: 'no walk with this song yet' },
    {
      from: 'shootout',
      words: 'What a shoot-out taught',
      missing: 'no shoot-out of this song has been revealed',
    },
  ];
  return (
    <>
      <ul className="plain-list source-choices">
        {choices.map(({ from, words, missing }) => (
          <li key={from}>
            <button
              type="button"
              className="act"
              aria-pressed={request?.from === from}
              disabled={usual[from] === null}
              onClick={() => onChange(request?.from === from ? null : usual[from])}
            >
              {words}
            </button>
            {usual[from] === null && <span className="note"> {missing}</span>}
          </li>
        ))}
      </ul>
      {request?.from === 'references' && sets && sets.length > 1 && (
        <Which
          label="Which set"
          value={request.setId}
          choices={sets.map(({ id, name }) => ({ id, name }))}
          onChange={(setId) => {
            choose(setId);
            onChange({ ...request, setId });
          }}
        />
      )}
      {request?.from === 'walk' && walks.length > 1 && (
        <Which
          label="Which walk"
          value={request.walkId}
          choices={walks.map(({ id, title }) => ({ id, name: title }))}
          onChange={(walkId) => onChange({ from: 'walk', walkId })}
        />
      )}
      {request?.from === 'shootout' && shootouts.length > 1 && (
        <Which
          label="Which shoot-out"
          value={request.shootoutId}
          choices={shootouts.map(({ id, title }) => ({ id, name: title }))}
          onChange={(shootoutId) => onChange({ from: 'shootout', shootoutId })}
        />
      )}
    </>
  );
}

function Which({
  label,
  value,
  choices,
  onChange,
}: {
  label: string;
  value: string;
  choices: readonly { id: string; name: string }[];
  onChange: (id: string) => void;
}) {
  return (
    <label className="find">
      {label}
      <select value={value} onChange={(event) => onChange(event.target.value)}>
        {choices.map(({ id, name }) => (
          <option key={id} value={id}>
            {name}
          </option>
        ))}
      </select>
    </label>
  );
}

function Shown({
  edited,
  request,
  hearing,
  onPreview,
  onHear,
  onRequest,
  onDone,
}: {
  edited: EditedChain;
  request: ProposalRequest;
  hearing: boolean;
  onPreview: (chain: Chain | null) => void;
  onHear: (on: boolean) => void;
  onRequest: (request: ProposalRequest) => void;
  onDone: () => void;
}) {
  const asked = useProposal(edited.detail.id, request);
  const proposal = asked.data;
  /** What the reader said of single pieces; the rest is as advised. */
  const [said, setSaid] = useState<Readonly<Record<string, boolean>>>({});
  const taken = useMemo(() => (proposal ? takenOf(proposal, said) : null), [proposal, said]);
  const many = taken ? taken.bands.length + taken.parts.length : 0;
  const preview = useMemo(
    () => (taken && many > 0 ? takeOver(edited.chain, taken) : null),
    [edited.chain, taken, many],
  );
  useEffect(() => {
    onPreview(preview);
    return () => onPreview(null);
  }, [onPreview, preview]);

  const strength =
    request.from === 'references' ? (
      <Strength
        value={request.strengthPercent ?? 50}
        onChange={(strengthPercent) => onRequest({ ...request, strengthPercent })}
      />
    ) : null;
  if (!proposal)
    return (
      <p className={asked.error ? 'sentence' : 'note'} role="status">
        {asked.error?.message ?? 'Working it out…'}
      </p>
    );
  const bands = taken?.bands ?? [];
  const all = curvesOf(bands);
  return (
    <div className={asked.isPlaceholderData ? 'proposal stale' : 'proposal'}>
      <p className="sentence">
        <b>{proposal.headline}</b>
      </p>
      {strength}
      {proposal.bands.length > 0 && (
        <FrequencyPlot
          title="What is proposed: gain over frequency"
          reachDb={reachOf([...all.map(({ gainDb }) => gainDb), proposal.target.map(({ gainDb }) => gainDb)])}
          curves={all.map((curve) => ({ ...curve, name: 'what you would take over' }))}
          wanted={proposal.target}
        />
      )}
      <ul className="plain-list proposed">
        {[...proposal.bands, ...proposal.parts].map(({ id, words, why, advised }) => (
          <li key={id}>
            <label className="check-line">
              <input
                type="checkbox"
                checked={said[id] ?? advised}
                onChange={(event) => setSaid({ ...said, [id]: event.target.checked })}
              />
              <span>
                {words}
                {why && <span className="note why">{why}</span>}
              </span>
            </label>
          </li>
        ))}
      </ul>
      {proposal.sentences.map((sentence) => (
        <p key={sentence} className="note">
          {sentence}
        </p>
      ))}
      <div className="act-line">
        <button
          type="button"
          className="act"
          aria-pressed={hearing}
          disabled={many === 0}
          onClick={() => onHear(!hearing)}
        >
          {hearing ? 'Heard with it' : 'Hear the chain with it'}
        </button>
        <button
          type="button"
          className="primary"
          disabled={many === 0 || asked.isPlaceholderData}
          onClick={() => {
            if (!taken) return;
            const accepted = { title: proposal.title, bands: taken.bands.map(data), parts: taken.parts };
            void edited
              .act((revision) => acceptProposal(edited.detail.id, { revision, ...accepted }))
              .then((done) => done && onDone());
          }}
        >
          {many === 0 ? 'Nothing to take over' : `Take over ${count(many, 'change')}`}
        </button>
        <button type="button" className="plain" onClick={onDone}>
          Leave it
        </button>
      </div>
      <p className="note">It becomes a part of its own and one step: undo takes all of it back.</p>
    </div>
  );
}

/** What is not refused. The server read the settings with the fields of their kinds before it sent them. */
function takenOf(proposal: Proposal, said: Readonly<Record<string, boolean>>) {
  const kept = <Each extends { id: string; advised: boolean }>(all: readonly Each[]) =>
    all.filter(({ id, advised }) => said[id] ?? advised);
  return {
    bands: kept(proposal.bands).map(({ band }) => band as unknown as Band),
    parts: kept(proposal.parts).map(({ kind, settings }) => ({ kind: kind as PartKindId, settings })),
  };
}

const data = (band: Band) => ({ ...band });

function Strength({ value, onChange }: { value: number; onChange: (value: number) => void }) {
  const id = useId();
  return (
    <p className="strength">
      <label htmlFor={id}>How much of the difference</label>
      <input
        id={id}
        type="range"
        min={0}
        max={100}
        step={5}
        value={value}
        aria-valuetext={`${value} %`}
        onChange={(event) => onChange(Number(event.target.value))}
      />
      <span className="num">{value} %</span>
    </p>
  );
}
