import { keepPreviousData, useMutation, useQueries, useQuery, useQueryClient } from '@tanstack/react-query';
import type { ChangeReport } from '../../src/judge/change-report.ts';
import type { ProfileId } from '../../src/judge/profiles.ts';
import type { Traces } from '../../src/measure/measurement.ts';
import type {
  Health,
  Job,
  Song,
  Survival,
  SurviveFormat,
  SurviveRequest,
  Version,
  VersionDetail,
  VersionKind,
} from '../../src/server/api.ts';
import { keys, takeJob, takeSongsChanged } from './cache.ts';
import { call } from './client.ts';

export const useHealth = () =>
  useQuery({ queryKey: keys.health, queryFn: () => call<Health>('GET', '/health') });

export const useSongs = () =>
  useQuery({
    queryKey: keys.songs,
    queryFn: async () => (await call<{ songs: Song[] }>('GET', '/songs')).songs,
  });

export const useSong = (id: string) =>
  useQuery({ queryKey: keys.song(id), queryFn: () => call<Song>('GET', `/songs/${id}`) });

const versionQuery = (id: string) => ({
  queryKey: keys.version(id),
  queryFn: () => call<VersionDetail>('GET', `/versions/${id}`),
});

/** A version with its report, held against a profile (null: the usual one of its kind). While another profile is fetched, the last stays. */
export const useVersion = (id: string, profile: ProfileId | null) =>
  useQuery({
    queryKey: profile === null ? keys.version(id) : keys.versionFor(id, profile),
    queryFn: () =>
      call<VersionDetail>('GET', `/versions/${id}${profile === null ? '' : `?profile=${profile}`}`),
    placeholderData: keepPreviousData,
  });

/** The details of several versions, in the order of `ids`; undefined while not yet here. */
export const useVersions = (ids: readonly string[]) =>
  useQueries({ queries: ids.map(versionQuery), combine: (results) => results.map((r) => r.data) });

/** What changed from one version to another; the answer takes some seconds the first time. */
export const useChange = (from: string, to: string) =>
  useQuery({
    queryKey: keys.change(from, to),
    queryFn: () => call<ChangeReport>('GET', `/versions/${to}/change?from=${from}`),
    staleTime: Number.POSITIVE_INFINITY,
    retry: false,
  });

export const useTraces = (id: string, enabled: boolean) =>
  useQuery({
    queryKey: keys.traces(id),
    queryFn: () => call<Traces>('GET', `/versions/${id}/traces`),
    enabled,
    staleTime: Number.POSITIVE_INFINITY,
  });

export const useSurviveFormats = () =>
  useQuery({
    queryKey: keys.surviveFormats,
    queryFn: async () => (await call<{ formats: SurviveFormat[] }>('GET', '/survive/formats')).formats,
    staleTime: Number.POSITIVE_INFINITY,
  });

export const useSurvival = (id: string) =>
  useQuery({ queryKey: keys.survival(id), queryFn: () => call<Survival>('GET', `/versions/${id}/survive`) });

/** Every change the page can ask for. Each refreshes the lists, whether or not the events get through. */
export function useChanges() {
  const queries = useQueryClient();
  const onSuccess = () => takeSongsChanged(queries);
  const versionChanged = (version: Version) => {
    queries.setQueriesData<VersionDetail>(
      { queryKey: keys.version(version.id) },
      (old) => old && { ...old, ...version },
    );
    // As another kind it may be asked for other things.
    void queries.invalidateQueries({ queryKey: keys.version(version.id) });
    takeSongsChanged(queries);
  };
  const takesJob = (job: Job) => takeJob(queries, job);
  return {
    useDemo: useMutation({ mutationFn: () => call<{ songs: Song[] }>('POST', '/demo'), onSuccess }),
    renameSong: useMutation({
      mutationFn: (p: { id: string; title: string }) =>
        call<Song>('PATCH', `/songs/${p.id}`, { title: p.title }),
      onSuccess,
    }),
    deleteSong: useMutation({ mutationFn: (id: string) => call<void>('DELETE', `/songs/${id}`), onSuccess }),
    restoreSong: useMutation({
      mutationFn: (id: string) => call<Song>('POST', `/songs/${id}/restore`),
      onSuccess,
    }),
    patchVersion: useMutation({
      mutationFn: ({ id, ...patch }: { id: string; name?: string; kind?: VersionKind; songId?: string }) =>
        call<Version>('PATCH', `/versions/${id}`, patch),
      onSuccess: versionChanged,
    }),
    deleteVersion: useMutation({
      mutationFn: (id: string) => call<void>('DELETE', `/versions/${id}`),
      onSuccess,
    }),
    restoreVersion: useMutation({
      mutationFn: (id: string) => call<Version>('POST', `/versions/${id}/restore`),
      onSuccess,
    }),
    check: useMutation({
      mutationFn: (id: string) => call<Job>('POST', `/versions/${id}/check`, {}),
      onSuccess: takesJob,
    }),
    survive: useMutation({
      mutationFn: ({ id, ...request }: SurviveRequest & { id: string }) =>
        call<Job>('POST', `/versions/${id}/survive`, request),
      onSuccess: takesJob,
    }),
    cancel: useMutation({
      mutationFn: (jobId: string) => call<Job>('POST', `/jobs/${jobId}/cancel`),
      onSuccess: takesJob,
    }),
  };
}

export type Changes = ReturnType<typeof useChanges>;
