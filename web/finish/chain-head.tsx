import { Link } from 'wouter';
import type { ChainDetail, ChainSummary } from '../../src/server/chains-api.ts';
import type { DeskSong } from '../../src/server/desk-api.ts';
import type { ChainActs } from '../api/chain-queries.ts';
import { EditableText } from '../parts/editable-text.tsx';
import { offerUndo, say } from '../parts/toasts.tsx';
import { ChainFile } from './chain-file.tsx';

/** Which chain this is, the others of the song, and what can be done with it as a whole. */
export function ChainHead({
  song,
  chains,
  detail,
  acts,
  onChoose,
}: {
  song: DeskSong;
  chains: readonly ChainSummary[];
  detail: ChainDetail;
  acts: ChainActs;
  onChoose: (chainId: string) => void;
}) {
  const failed = { onError: (error: Error) => say(error.message) };
  const made = { ...failed, onSuccess: ({ id }: ChainDetail) => onChoose(id) };
  const others = song.sources.filter(({ versionId }) => versionId !== detail.versionId);
  return (
    <div className="entry opening">
      <div className="margin">
        <nav className="note" aria-label="Where this is">
          <Link href="/">Bench</Link> / <Link href={`/songs/${song.songId}`}>{song.title}</Link>
        </nav>
        <p className="note">
          Finishing <Link href={`/versions/${detail.versionId}`}>{detail.versionName}</Link>
        </p>
      </div>
      <div className="body">
        <h1 className="headline with-action">
          {detail.name}{' '}
          <EditableText
            text={detail.name}
            label="chain"
            onChange={(name) => acts.rename.mutate({ id: detail.id, name }, failed)}
          />
        </h1>
        <div className="act-line chain-tools">
          {chains.length > 1 && (
            <label className="find">
              Chain
              <select value={detail.id} onChange={(event) => onChoose(event.target.value)}>
                {chains.map(({ id, name, versionName }) => (
                  <option key={id} value={id}>
                    {name}, {versionName}
                  </option>
                ))}
              </select>
            </label>
          )}
          <button
            type="button"
            className="plain"
            onClick={() => acts.make.mutate({ versionId: detail.versionId }, made)}
          >
            A new chain
          </button>
          <ChainFile onChain={(chain) => acts.make.mutate({ versionId: detail.versionId, chain }, made)} />
          <a
            className="note"
            download={`${detail.name}.json`}
            href={`data:application/json,${encodeURIComponent(JSON.stringify(detail.chain, null, 2))}`}
          >
            Save it as a file
          </a>
          {others.length > 0 && (
            <label className="find">
              <span className="hidden">Take it over to another version</span>
              <select
                value=""
                onChange={(event) =>
                  event.target.value !== '' &&
                  acts.copy.mutate({ id: detail.id, versionId: event.target.value }, made)
                }
              >
                <option value="">Take it over to…</option>
                {others.map(({ versionId, name }) => (
                  <option key={versionId} value={versionId}>
                    {name}
                  </option>
                ))}
              </select>
            </label>
          )}
          <button
            type="button"
            className="plain"
            onClick={() =>
              acts.remove.mutate(detail.id, {
                ...failed,
                onSuccess: () =>
                  offerUndo(`“${detail.name}” was deleted.`, () => acts.restore.mutate(detail.id, made)),
              })
            }
          >
            Delete it
          </button>
        </div>
      </div>
    </div>
  );
}
