import { useState } from 'react';
import { Link } from 'wouter';
import { type Chain, readChain } from '../../src/finish/chain.ts';
import type { Finishing as Known, LoudnessChoice } from '../../src/server/finishing-api.ts';
import { useFinishActs, useFinishing } from '../api/chain-queries.ts';
import { useChanges } from '../api/queries.ts';
import { isActive, JobLine } from '../parts/job-line.tsx';
import { count, figure } from '../words/figures.ts';
import { Goals } from './goals.tsx';
import { LoudnessChoiceView } from './loudness-choice.tsx';
import type { EditedChain } from './use-chain.ts';

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
        trouble={acts.tryLoudness.error ?? acts.keepDraft.error ?? known.error}
        heard={heard}
        onHear={onHear}
        chosen={loudness}
        onChoose={setLoudness}
        onKeep={(draftId) => acts.keepDraft.mutate({ draftId, chainId: edited.detail.id })}
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
