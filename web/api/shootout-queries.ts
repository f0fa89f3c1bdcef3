import { keepPreviousData, useMutation, useQuery, useQueryClient } from '@tanstack/react-query';
import type {
  EntryPatch,
  Invitation,
  Lessons,
  NewListener,
  NewShootout,
  PackCheck,
  PackRequest,
  Plan,
  RemoteRequest,
  RemoteWritten,
  Sharing,
  ShootoutDetail,
  ShootoutEntry,
  ShootoutListener,
  ShootoutPatch,
  ShootoutResults,
  ShootoutSize,
  ShootoutSummary,
  VersionEntry,
  VotesTaken,
  Written,
} from '../../src/server/shootout-api.ts';
import { keys, takeShootout } from './cache.ts';
import { call } from './client.ts';

export const useShootouts = (songId: string) =>
  useQuery({
    queryKey: keys.shootouts(songId),
    queryFn: async () =>
      (await call<{ shootouts: ShootoutSummary[] }>('GET', `/shootouts?songId=${songId}`)).shootouts,
  });

export const useShootout = (id: string) =>
  useQuery({ queryKey: keys.shootout(id), queryFn: () => call<ShootoutDetail>('GET', `/shootouts/${id}`) });

export const usePackCheck = (id: string, enabled: boolean) =>
  useQuery({
    queryKey: [...keys.shootout(id), 'pack'],
    queryFn: () => call<PackCheck>('GET', `/shootouts/${id}/pack`),
    enabled,
    staleTime: Number.POSITIVE_INFINITY,
  });

/** What a shoot-out of this size can tell; while another is worked out, the last stays. */
export const usePlan = (
  { id, kind, question, entries, sections, missing }: ShootoutDetail,
  size: ShootoutSize,
) =>
  useQuery({
    queryKey: keys.shootoutPlan(id, { kind, question, entries: entries.length, sections, size }),
    queryFn: () => call<Plan>('POST', `/shootouts/${id}/plan`, size),
    enabled: missing === null,
    staleTime: Number.POSITIVE_INFINITY,
    placeholderData: keepPreviousData,
    retry: false,
  });

export const useSharing = () =>
  useQuery({ queryKey: keys.sharing, queryFn: () => call<Sharing>('GET', '/shootouts/sharing') });

export const useShootoutResults = (id: string, enabled: boolean) =>
  useQuery({
    queryKey: [...keys.shootout(id), 'results'],
    queryFn: () => call<ShootoutResults>('GET', `/shootouts/${id}/results`),
    enabled,
    placeholderData: keepPreviousData,
  });

/** What the maker of one entry did otherwise than that of another; which, the server chooses where not said. */
export const useLessons = (id: string, pair: { readonly entry: string; readonly against: string } | null) =>
  useQuery({
    queryKey: [...keys.shootout(id), 'lessons', pair],
    queryFn: () =>
      call<Lessons>('GET', `/shootouts/${id}/lessons${pair ? `?${new URLSearchParams(pair)}` : ''}`),
    staleTime: Number.POSITIVE_INFINITY,
    placeholderData: keepPreviousData,
    retry: false,
  });

/** A new shoot-out of a song, and taking one back that was deleted. */
export function useShootoutMaking() {
  const queries = useQueryClient();
  const onSuccess = (shootout: ShootoutDetail) => {
    queries.setQueryData(keys.shootout(shootout.id), shootout);
    takeShootout(queries, shootout.id);
  };
  return {
    make: useMutation({
      mutationFn: (wanted: NewShootout) => call<ShootoutDetail>('POST', '/shootouts', wanted),
      onSuccess,
    }),
    restore: useMutation({
      mutationFn: (id: string) => call<ShootoutDetail>('POST', `/shootouts/${id}/restore`),
      onSuccess,
    }),
    remove: useMutation({
      mutationFn: (id: string) => call<void>('DELETE', `/shootouts/${id}`),
      onSuccess: () => queries.invalidateQueries({ queryKey: ['shootouts'] }),
    }),
  };
}

/** Every change to one shoot-out that the page can ask for. */
export function useShootoutChanges(id: string) {
  const queries = useQueryClient();
  const path = `/shootouts/${id}`;
  const onSuccess = () => takeShootout(queries, id);
  const taken = (shootout: ShootoutDetail) => {
    queries.setQueryData(keys.shootout(id), shootout);
    takeShootout(queries, id);
  };
  return {
    patch: useMutation({
      mutationFn: (patch: ShootoutPatch) => call<ShootoutDetail>('PATCH', path, patch),
      onSuccess: taken,
    }),
    addVersion: useMutation({
      mutationFn: (entry: VersionEntry) => call<ShootoutEntry>('POST', `${path}/entries/versions`, entry),
      onSuccess,
    }),
    patchEntry: useMutation({
      mutationFn: ({ entryId, ...patch }: EntryPatch & { entryId: string }) =>
        call<ShootoutEntry>('PATCH', `${path}/entries/${entryId}`, patch),
      // Under way until it is read anew: who changed it sees it changed the whole time.
      onSuccess: () => queries.invalidateQueries({ queryKey: keys.shootout(id), exact: true }),
    }),
    removeEntry: useMutation({
      mutationFn: (entryId: string) => call<void>('DELETE', `${path}/entries/${entryId}`),
      onSuccess,
    }),
    writePack: useMutation({
      mutationFn: (request: PackRequest) => call<Written>('POST', `${path}/pack`, request),
    }),
    open: useMutation({
      mutationFn: (size: ShootoutSize) => call<ShootoutDetail>('POST', `${path}/open`, size),
      onSuccess: taken,
    }),
    invite: useMutation({
      mutationFn: (listener: NewListener) => call<Invitation>('POST', `${path}/listeners`, listener),
      onSuccess,
    }),
    newLink: useMutation({
      mutationFn: (listenerId: string) => call<Invitation>('POST', `${path}/listeners/${listenerId}/link`),
      onSuccess,
    }),
    renameListener: useMutation({
      mutationFn: ({ listenerId, name }: { listenerId: string; name: string }) =>
        call<ShootoutListener>('PATCH', `${path}/listeners/${listenerId}`, { name }),
      onSuccess,
    }),
    withdraw: useMutation({
      mutationFn: (listenerId: string) => call<void>('DELETE', `${path}/listeners/${listenerId}`),
      onSuccess,
    }),
    writeFolder: useMutation({
      mutationFn: (request: RemoteRequest) => call<RemoteWritten>('POST', `${path}/remote`, request),
      onSuccess,
    }),
    takeVotes: useMutation({
      mutationFn: (file: unknown) => call<VotesTaken>('POST', `${path}/votes`, file),
      onSuccess,
    }),
    share: useMutation({
      mutationFn: (request: { on: boolean; hours?: number }) =>
        call<Sharing>('PUT', `${path}/sharing`, request),
      onSuccess: (sharing) => {
        queries.setQueryData(keys.sharing, sharing);
        onSuccess();
      },
    }),
    reveal: useMutation({
      mutationFn: () => call<ShootoutDetail>('POST', `${path}/reveal`),
      onSuccess: taken,
    }),
  };
}

export type ShootoutChanges = ReturnType<typeof useShootoutChanges>;
