import type { QueryClient } from '@tanstack/react-query';
import type { Job, Song, Survival, Version, VersionDetail } from '../../src/server/api.ts';
import type { MatchRequest } from '../../src/server/desk-api.ts';
import type { Finishing } from '../../src/server/finishing-api.ts';
import type { SongPlaces } from '../../src/server/places-api.ts';

/** Names under which the server's answers are kept on the page. */
export const keys = {
  health: ['health'] as const,
  songs: ['songs'] as const,
  song: (id: string) => ['song', id] as const,
  version: (id: string) => ['version', id] as const,
  /** The same version held against a profile of the reader's choice; begins as `version` does, so that news reaches both. */
  versionFor: (id: string, profile: string) => ['version', id, profile] as const,
  change: (from: string, to: string) => ['change', from, to] as const,
  traces: (id: string) => ['traces', id] as const,
  surviveFormats: ['survive-formats'] as const,
  survival: (id: string) => ['survival', id] as const,
  desk: (songId: string) => ['desk', songId] as const,
  match: (parts: MatchRequest['parts']) => ['match', parts] as const,
  /** Begins as `desk` does: what is known of a version changes what of a set can be heard. */
  deskReferences: (setId: string, members: readonly string[]) => ['desk', 'set', setId, members] as const,
  level: ['level'] as const,
  atEar: (name: string, lufs: string | null) => ['at-ear', name, lufs] as const,
  sets: ['sets'] as const,
  set: (id: string) => ['set', id] as const,
  standing: (versionId: string, setId: string) => ['standing', versionId, setId] as const,
  notes: (versionId: string) => ['notes', versionId] as const,
  watch: ['watch'] as const,
  folders: (inside: string | null) => ['folders', inside] as const,
  storage: ['storage'] as const,
  shootouts: (songId: string) => ['shootouts', songId] as const,
  /** All that is asked of one shoot-out begins with this, but for its plan, which no vote changes. */
  shootout: (id: string) => ['shootout', id] as const,
  shootoutPlan: (id: string, of: unknown) => ['shootout-plan', id, of] as const,
  sharing: ['sharing'] as const,
  walks: (songId: string) => ['walks', songId] as const,
  /** All that is asked of one walk begins with this. */
  walk: (id: string) => ['walk', id] as const,
  walkSharing: ['walk-sharing'] as const,
  records: ['records'] as const,
  record: (id: string) => ['record', id] as const,
  recordPlan: (id: string, changedAt: string) => ['record-plan', id, changedAt] as const,
  deliveryProfiles: ['delivery-profiles'] as const,
  reviews: (versionId: string) => ['reviews', versionId] as const,
  reviewSharing: ['review-sharing'] as const,
  places: ['places'] as const,
  place: (id: string) => ['places', id] as const,
  songPlaces: (versionId: string) => ['song-places', versionId] as const,
  sweep: (seconds: number) => ['sweep', seconds] as const,
  measurings: ['measurings'] as const,
  measuring: (id: string) => ['measuring', id] as const,
  chains: (songId: string) => ['chains', songId] as const,
  /** All that is asked of one chain as it is now begins with this. */
  chain: (id: string) => ['chain', id] as const,
  chainSteps: (id: string, step: number, before: number | null) => ['chain-steps', id, step, before] as const,
  chainStep: (id: string, step: number) => ['chain-step', id, step] as const,
  chainLoudness: (versionId: string, chain: unknown, span: unknown) =>
    ['chain-loudness', versionId, chain, span] as const,
  chainLook: (versionId: string, chain: unknown) => ['chain-look', versionId, chain] as const,
  ceilingSteps: (versionId: string, chain: unknown) => ['ceiling-steps', versionId, chain] as const,
  proposal: (chainId: string, request: unknown) => ['proposal', chainId, request] as const,
  finishing: (versionId: string) => ['finishing', versionId] as const,
  catalogues: ['catalogues'] as const,
  /** All that is asked of one run begins with this. */
  catalogueRun: (id: string) => ['catalogue', id] as const,
  catalogueSongs: (id: string, query: string) => ['catalogue', id, 'songs', query] as const,
  catalogueSong: (id: string, seq: string) => ['catalogue', id, 'song', seq] as const,
  catalogueComparison: (id: string, earlier: string | null) => ['catalogue', id, 'compare', earlier] as const,
};

const finished = (job: Job) => job.state === 'done' || job.state === 'failed' || job.state === 'cancelled';

function withJob<V extends Version>(version: V, job: Job): V {
  if (version.id !== job.versionId) return version;
  // Events may overtake answers: an older job never replaces a newer one.
  if (version.job && version.job.createdAt > job.createdAt) return version;
  if (version.job?.id === job.id && finished(version.job) && !finished(job)) return version;
  return { ...version, job };
}

const songWithJob = (song: Song, job: Job): Song =>
  song.versions.some((v) => v.id === job.versionId)
    ? { ...song, versions: song.versions.map((v) => withJob(v, job)) }
    : song;

/** Writes a job's news into every kept answer that shows it; when it ended, the verdict is fetched anew. */
export function takeJob(queries: QueryClient, job: Job): void {
  const { kind, versionId } = job;
  if (kind === 'survive') takeJobAs<Survival>(queries, keys.survival(versionId), 'job', job);
  else if (kind === 'places') takeJobAs<SongPlaces>(queries, keys.songPlaces(versionId), 'job', job);
  else if (kind === 'finish') takeJobAs<Finishing>(queries, keys.finishing(versionId), 'job', job);
  else if (kind === 'loudness') takeJobAs<Finishing>(queries, keys.finishing(versionId), 'loudnessJob', job);
  // What a version's row shows is its check.
  else takeCheckJob(queries, job);
}

function takeCheckJob(queries: QueryClient, job: Job): void {
  queries.setQueryData<Song[]>(keys.songs, (songs) => songs?.map((song) => songWithJob(song, job)));
  queries.setQueriesData<Song>({ queryKey: ['song'] }, (song) => song && songWithJob(song, job));
  queries.setQueriesData<VersionDetail>(
    { queryKey: keys.version(job.versionId) },
    (version) => version && withJob(version, job),
  );
  if (finished(job)) {
    takeSongsChanged(queries);
    void queries.invalidateQueries({ queryKey: keys.version(job.versionId) });
    if (job.state === 'done') void queries.invalidateQueries({ queryKey: keys.traces(job.versionId) });
    // What is known of a version changes what the desk can play and what a set has to say.
    for (const kind of ['desk', 'sets', 'set', 'standing', 'watch'])
      void queries.invalidateQueries({ queryKey: [kind] });
  }
}

/** Writes a job's news into the one answer that shows it; when it ended, that is fetched anew. */
function takeJobAs<Known>(
  queries: QueryClient,
  queryKey: readonly string[],
  field: keyof Known,
  job: Job,
): void {
  queries.setQueryData<Known>(queryKey, (known) => {
    const before = known?.[field] as Job | null | undefined;
    const older = before && (before.createdAt > job.createdAt || (before.id === job.id && finished(before)));
    return known && !older ? { ...known, [field]: job } : known;
  });
  if (finished(job)) void queries.invalidateQueries({ queryKey });
}

/** More is known of how a version survives: fetch it. */
export function takeSurvival(queries: QueryClient, versionId: string): void {
  void queries.invalidateQueries({ queryKey: keys.survival(versionId) });
}

/** The lists changed somewhere: fetch them again. */
export function takeSongsChanged(queries: QueryClient): void {
  void queries.invalidateQueries({ queryKey: keys.songs });
  void queries.invalidateQueries({ queryKey: ['song'] });
  void queries.invalidateQueries({ queryKey: ['desk'] });
}

/** Sets read differently, and with them what they say of versions. */
export function takeSetsChanged(queries: QueryClient): void {
  for (const kind of ['sets', 'set', 'standing', 'song-places'])
    void queries.invalidateQueries({ queryKey: [kind] });
}

/** News of the desk: a version was laid beside the others of its song; or sets, notes or watched folders read differently. */
export function takeDesk(queries: QueryClient, news: { songId?: string; what?: string }): void {
  if (news.songId !== undefined) void queries.invalidateQueries({ queryKey: keys.desk(news.songId) });
  if (news.what === 'sets') takeSetsChanged(queries);
  if (news.what === 'notes' || news.what === 'watch')
    void queries.invalidateQueries({ queryKey: [news.what] });
}

/** A shoot-out reads differently: an entry, a vote, a listener, its state, or who may come in. */
export function takeShootout(queries: QueryClient, id: string): void {
  void queries.invalidateQueries({ queryKey: keys.shootout(id) });
  for (const kind of ['shootouts', 'sharing']) void queries.invalidateQueries({ queryKey: [kind] });
}

/** News of places: of a version in them, of a measuring, or of the library itself, on which all results rest. */
export function takePlaces(queries: QueryClient, news: { versionId?: string; measuringId?: string }): void {
  const { versionId, measuringId } = news;
  if (versionId !== undefined) void queries.invalidateQueries({ queryKey: keys.songPlaces(versionId) });
  if (measuringId !== undefined) {
    void queries.invalidateQueries({ queryKey: keys.measurings });
    void queries.invalidateQueries({ queryKey: keys.measuring(measuringId) });
  }
  if (versionId === undefined && measuringId === undefined)
    for (const kind of ['places', 'song-places']) void queries.invalidateQueries({ queryKey: [kind] });
}

/** A walk reads differently: what is noted, its places, or who may come in. */
export function takeWalk(queries: QueryClient, id: string): void {
  void queries.invalidateQueries({ queryKey: keys.walk(id) });
  for (const kind of ['walks', 'walk-sharing']) void queries.invalidateQueries({ queryKey: [kind] });
}

/** A finishing chain reads differently. */
export function takeChain(
  queries: QueryClient,
  { chainId, songId }: { chainId: string; songId: string },
): void {
  void queries.invalidateQueries({ queryKey: keys.chain(chainId) });
  void queries.invalidateQueries({ queryKey: keys.chains(songId) });
}

/** A record or a delivery of it reads differently; null: what was said of a version, or who may come in. */
export function takeRecord(queries: QueryClient, id: string | null): void {
  void queries.invalidateQueries({ queryKey: id === null ? ['record'] : keys.record(id) });
  for (const kind of ['records', ...(id === null ? ['record-plan', 'reviews', 'review-sharing'] : [])])
    void queries.invalidateQueries({ queryKey: [kind] });
}
