import { useCallback, useEffect, useEffectEvent, useMemo, useState } from 'react';
import { useSearchParams } from 'wouter';
import type { Chain } from '../../src/finish/chain.ts';
import type { ChainDetail, ChainSummary } from '../../src/server/chains-api.ts';
import type { DeskSong, Level } from '../../src/server/desk-api.ts';
import { useChain, useChainActs, useChains, useFinishing } from '../api/chain-queries.ts';
import { ApiFailure } from '../api/client.ts';
import { useDeskSong, useLevel, useLevelChanges } from '../api/desk-queries.ts';
import { Caution } from '../desk/caution.tsx';
import type { DeskPlayer } from '../desk/desk-player.ts';
import { useKeysOn } from '../desk/key-list.tsx';
import { actFor, belongsElsewhere } from '../desk/keys.ts';
import { useDesk } from '../desk/use-desk.ts';
import { useListeningClock } from '../desk/use-listening-clock.ts';
import { usePlayer } from '../desk/use-player.ts';
import { Begin } from '../finish/begin.tsx';
import { ChainHead } from '../finish/chain-head.tsx';
import { ChainsPlayer } from '../finish/chains-player.ts';
import { candidatesOf, Finishing } from '../finish/finishing.tsx';
import { Heard, HeardRest } from '../finish/heard.tsx';
import { History } from '../finish/history.tsx';
import { PartEditor } from '../finish/part-editor.tsx';
import { PartsList } from '../finish/parts-list.tsx';
import { Proposals } from '../finish/proposals.tsx';
import { nowId, Snapshots } from '../finish/snapshots.tsx';
import { useEditedChain } from '../finish/use-chain.ts';
import { useSnapshotChains } from '../finish/use-snapshot-chains.ts';
import { type Hearable, useTakes } from '../finish/use-takes.ts';
import { Message, Unanswered } from '../parts/message.tsx';
import { useNarrow } from '../parts/narrow.ts';
import { useTitle } from '../parts/theme.tsx';
import { NothingToHear } from './desk.tsx';

/** The finishing of one song: its chains, worked on while they are heard. */
export function FinishScreen({ id }: { id: string }) {
  const song = useDeskSong(id);
  const chains = useChains(id);
  const level = useLevel();
  const player = usePlayer();
  const [search, setSearch] = useSearchParams();
  useTitle(song.data ? `Finishing: ${song.data.title}` : 'Finishing');
  if (song.error instanceof ApiFailure && song.error.status === 404 && !song.data)
    return <NothingToHear id={id} error={song.error} />;
  for (const asked of [song, chains, level])
    if (asked.isError && !asked.data)
      return <Unanswered error={asked.error} retry={() => void asked.refetch()} />;
  if (!song.data || !chains.data || !level.data || !player) return <Message title="Laying out the chain…" />;
  const named = chains.data.find((chain) => chain.id === search.get('chain'));
  const chosen = named ?? chains.data[0];
  const choose = (chainId: string) => setSearch({ chain: chainId }, { replace: true });
  return chosen ? (
    <OneChain
      key={chosen.id}
      id={chosen.id}
      song={song.data}
      chains={chains.data}
      level={level.data}
      player={player}
      onChoose={choose}
    />
  ) : (
    <Begin song={song.data} onMade={choose} />
  );
}

interface Shared {
  readonly song: DeskSong;
  readonly chains: readonly ChainSummary[];
  readonly level: Level;
  readonly player: DeskPlayer;
  readonly onChoose: (chainId: string) => void;
}

function OneChain({ id, ...shared }: Shared & { id: string }) {
  const detail = useChain(id);
  if (detail.isError && !detail.data)
    return <Unanswered error={detail.error} retry={() => void detail.refetch()} />;
  if (!detail.data) return <Message title="Reading the chain…" />;
  return <FinishSheet detail={detail.data} {...shared} />;
}

/** The song as the desk knows it, of one version, on that version's own clock. */
function aloneOn(song: DeskSong, versionId: string): DeskSong {
  const source = song.sources.find((each) => each.versionId === versionId);
  const own = { aligned: 'itself', reason: null, offsetSeconds: 0, driftPpm: 0, inverted: false } as const;
  return { ...song, baseVersionId: versionId, sources: source ? [{ ...source, ...own }] : [] };
}

function FinishSheet({
  detail,
  song,
  chains,
  level,
  player: outer,
  onChoose,
}: Shared & { detail: ChainDetail }) {
  const edited = useEditedChain(detail);
  const { chain } = edited;
  const { versionId } = detail;
  const acts = useChainActs(song.songId);
  const player = useMemo(() => new ChainsPlayer(outer), [outer]);
  const alone = useMemo(() => aloneOn(song, versionId), [song, versionId]);
  const desk = useDesk(alone, none, player);
  const narrow = useNarrow();
  const { patchLevel } = useLevelChanges();
  const [keysOn] = useKeysOn();
  const [heard, setHeard] = useState(nowId);
  const [chosenPart, setChosenPart] = useState<string | null>(null);
  const [preview, setPreview] = useState<Chain | null>(null);
  useListeningClock(player, desk.state.state);

  const part = chain.parts.find((each) => each.id === chosenPart) ?? chain.parts[0];
  const kept = edited.detail.chain as Chain;
  const snapshots = useSnapshotChains(edited.detail);
  const finishing = useFinishing(versionId);
  const choice = finishing.data?.choice ?? null;
  const hearables = useMemo<Hearable[]>(
    () => [
      { id: nowId, name: detail.name, chain, kept },
      ...snapshots,
      ...(preview
        ? [{ id: previewId, name: `${detail.name} with what is proposed`, chain: preview, kept: preview }]
        : []),
      ...candidatesOf(choice).map((each) => ({ ...each, kept: each.chain })),
    ],
    [detail.name, chain, kept, snapshots, preview, choice],
  );
  const heardNow = hearables.find(({ id }) => id === heard) ?? hearables[0]!;
  const loudest = desk.sections[alone.sources[0]?.loudestSection ?? -1];
  const span = useMemo(() => {
    const part = desk.loop ?? loudest;
    return part ? { startSeconds: part.startSeconds, endSeconds: part.endSeconds } : null;
  }, [desk.loop, loudest]);
  const takes = useTakes(player, versionId, hearables, heardNow.id, span, desk.matching);

  const { hearing, setHearing } = desk;
  const hear = useCallback((id: string) => setHeard(id), []);
  const takenBy = hearing.takenBy;
  // What a part takes away is that of the part that is looked at; one that is gone takes nothing.
  useEffect(() => {
    if (takenBy !== null && takenBy !== part?.id)
      setHearing((now) => ({ ...now, takenBy: part && !part.bypassed ? part.id : null }));
  }, [takenBy, part, setHearing]);

  const bypass = () => setHearing({ ...hearing, withoutChain: !hearing.withoutChain, takenBy: null });
  const taken = () =>
    part &&
    !part.bypassed &&
    setHearing({ ...hearing, takenBy: takenBy === part.id ? null : part.id, withoutChain: false });
  const play = () => (desk.running ? desk.pause() : desk.play());

  const onKey = useEffectEvent((event: KeyboardEvent) => {
    if (undoKey(event, edited)) return event.preventDefault();
    if (!keysOn || !level.cautionRead || belongsElsewhere(event)) return;
    if (event.ctrlKey || event.metaKey || event.altKey) return;
    const key = event.key.toLowerCase();
    if (key === 'c') bypass();
    else if (key === 'a') taken();
    else {
      const asked = actFor(event);
      if (!asked) return;
      if (event.repeat && !event.key.startsWith('Arrow') && !',.'.includes(event.key)) return;
      if (asked.act === 'play') play();
      else if (asked.act === 'choose') {
        const named = [nowId, ...edited.detail.snapshots.map(({ id }) => id)][asked.number - 1];
        if (named) hear(named);
      } else if (usedActs.has(asked.act)) desk.acts[asked.act as keyof typeof desk.acts]();
      else return;
    }
    event.preventDefault();
  });
  useEffect(() => {
    // Letting go of Space would still click a button that has the focus.
    let spaceTaken = false;
    const down = (event: KeyboardEvent) => {
      onKey(event);
      if (event.key === ' ') spaceTaken = event.defaultPrevented;
    };
    const up = (event: KeyboardEvent) => {
      if (event.key === ' ' && spaceTaken) event.preventDefault();
    };
    window.addEventListener('keydown', down);
    window.addEventListener('keyup', up);
    return () => {
      window.removeEventListener('keydown', down);
      window.removeEventListener('keyup', up);
    };
  }, []);

  return (
    <div className="sheet desk finish">
      <ChainHead song={song} chains={chains} detail={edited.detail} acts={acts} onChoose={onChoose} />
      {edited.trouble && (
        <div className="entry">
          <div className="body">
            <div className="trouble" role="alert">
              <strong>{edited.trouble}</strong>
              {edited.lost && (
                <>
                  <button type="button" className="secondary" onClick={edited.insist}>
                    Make my change after all
                  </button>
                  <span className="note">What the other window did stays in the history.</span>
                </>
              )}
              <button type="button" className="plain" onClick={edited.forget}>
                {edited.lost ? 'Leave my change' : 'All right'}
              </button>
            </div>
          </div>
        </div>
      )}
      <div className="entry desk-transport">
        <div className="margin" />
        <div className="body">
          <Heard
            desk={desk}
            takes={takes}
            heardName={heardNow.id === nowId ? `Through “${detail.name}”` : heardNow.name}
            part={part}
            narrow={narrow}
            onPlay={play}
            onBypass={bypass}
            onTaken={taken}
          />
        </div>
      </div>
      {narrow && (
        <div className="entry">
          <div className="body">
            <HeardRest desk={desk} takes={takes} />
          </div>
        </div>
      )}
      <div className="entry finish-work">
        <div className="margin margin-notes">
          <Snapshots edited={edited} acts={acts} heard={heardNow.id} onHear={hear} />
        </div>
        <div className="body chain-work">
          <PartsList
            chain={chain}
            chosenId={part?.id ?? null}
            onChoose={setChosenPart}
            onChange={edited.edit}
          />
          {part && (
            <PartEditor
              key={part.id}
              part={part}
              chain={chain}
              kept={kept}
              versionId={versionId}
              seconds={alone.sources[0]?.seconds ?? 0}
              onChange={edited.edit}
            />
          )}
        </div>
      </div>
      <div className="entry">
        <div className="margin" />
        <div className="body">
          <Proposals
            edited={edited}
            songId={song.songId}
            hearing={heardNow.id === previewId}
            onPreview={setPreview}
            onHear={(on) => hear(on ? previewId : nowId)}
          />
        </div>
      </div>
      <div className="entry">
        <div className="margin" />
        <div className="body">
          <Finishing edited={edited} heard={heardNow.id} onHear={hear} />
        </div>
      </div>
      <div className="entry">
        <div className="margin" />
        <div className="body">
          <History edited={edited} />
        </div>
      </div>
      <Caution
        open={!level.cautionRead}
        levelDb={desk.hearing.levelDb}
        onRead={() => patchLevel.mutate({ cautionRead: true })}
      />
    </div>
  );
}

const none: readonly never[] = [];
const previewId = 'preview';

/** What of the desk's keys works here too. */
const usedActs: ReadonlySet<string> = new Set([
  'earlier',
  'later',
  'far-earlier',
  'far-later',
  'bit-earlier',
  'bit-later',
  'section-before',
  'section-after',
  'loop',
  'loop-start',
  'loop-end',
  'match',
  'mono',
  'side',
  'band',
  'quiet',
  'softer',
  'louder',
]);

/** Undo and redo, from anywhere but where text is being written. */
function undoKey(event: KeyboardEvent, edited: { undo(): void; redo(): void }): boolean {
  if (!(event.ctrlKey || event.metaKey) || event.altKey) return false;
  const key = event.key.toLowerCase();
  if (key !== 'z' && key !== 'y') return false;
  const { target } = event;
  const written =
    target instanceof Element && target.closest('[data-draft], textarea, input:not([role], [type])');
  if (written || document.querySelector('[role="dialog"], [role="alertdialog"]')) return false;
  if (key === 'y' || event.shiftKey) edited.redo();
  else edited.undo();
  return true;
}
