import { useMutation, useQueries, useQuery, useQueryClient } from '@tanstack/react-query';
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

export const useVersion = (id: string) => useQuery(versionQuery(id));

/** The details of several versions, in the order of `ids`; undefined while not yet here. */
export const useVersions = (ids: readonly string[]) =>
  useQueries({ queries: ids.map(versionQuery), combine: (results) => results.map((r) => r.data) });

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
    queries.setQueryData<VersionDetail>(keys.version(version.id), (old) => old && { ...old, ...version });
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
