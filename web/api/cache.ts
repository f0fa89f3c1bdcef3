import type { QueryClient } from '@tanstack/react-query';
import type { Job, Song, Survival, Version, VersionDetail } from '../../src/server/api.ts';
import type { MatchRequest } from '../../src/server/desk-api.ts';

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
  if (job.kind === 'survive') {
    takeSurviveJob(queries, job);
    return;
  }
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

function takeSurviveJob(queries: QueryClient, job: Job): void {
  queries.setQueryData<Survival>(keys.survival(job.versionId), (survival) => {
    const before = survival?.job;
    const older = before && (before.createdAt > job.createdAt || (before.id === job.id && finished(before)));
    return survival && !older ? { ...survival, job } : survival;
  });
  if (finished(job)) takeSurvival(queries, job.versionId);
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
  for (const kind of ['sets', 'set', 'standing']) void queries.invalidateQueries({ queryKey: [kind] });
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
