import { keepPreviousData, useMutation, useQuery, useQueryClient } from '@tanstack/react-query';
import type {
  Correction,
  HistoryNote,
  NewStop,
  NewWalk,
  Predictions,
  StopPatch,
  WalkDetail,
  WalkLink,
  WalkPatch,
  WalkSharing,
  WalkSummary,
  WalkTaken,
} from '../../src/server/walk-api.ts';
import { keys, takeWalk } from './cache.ts';
import { call, failureFrom } from './client.ts';

export const useWalks = (songId: string) =>
  useQuery({
    queryKey: keys.walks(songId),
    queryFn: async () => (await call<{ walks: WalkSummary[] }>('GET', `/walks?songId=${songId}`)).walks,
  });

export const useWalk = (id: string) =>
  useQuery({ queryKey: keys.walk(id), queryFn: () => call<WalkDetail>('GET', `/walks/${id}`) });

export const useWalkSharing = () =>
  useQuery({ queryKey: keys.walkSharing, queryFn: () => call<WalkSharing>('GET', '/walks/sharing') });

export const useWalkHistory = (id: string, stopId: string, enabled: boolean) =>
  useQuery({
    queryKey: [...keys.walk(id), 'history', stopId],
    queryFn: async () =>
      (await call<{ notes: HistoryNote[] }>('GET', `/walks/${id}/history?stopId=${stopId}`)).notes,
    enabled,
  });

const refusing = (refused: readonly number[]) => (refused.length > 0 ? `?refuse=${refused.join(',')}` : '');

/** While another is worked out, the last stays. */
export const useCorrection = (id: string, refused: readonly number[]) =>
  useQuery({
    queryKey: [...keys.walk(id), 'correction', refused],
    queryFn: () => call<Correction>('GET', `/walks/${id}/correction${refusing(refused)}`),
    placeholderData: keepPreviousData,
    retry: false,
  });

export const usePredictions = (id: string, refused: readonly number[], enabled: boolean) =>
  useQuery({
    queryKey: [...keys.walk(id), 'predictions', refused],
    queryFn: () => call<Predictions>('GET', `/walks/${id}/predictions${refusing(refused)}`),
    enabled,
    placeholderData: keepPreviousData,
    retry: false,
  });

/** A new walk of a song, and taking one back that was deleted. */
export function useWalkMaking() {
  const queries = useQueryClient();
  const onSuccess = (walk: WalkDetail) => {
    queries.setQueryData(keys.walk(walk.id), walk);
    takeWalk(queries, walk.id);
  };
  return {
    make: useMutation({
      mutationFn: (wanted: NewWalk) => call<WalkDetail>('POST', '/walks', wanted),
      onSuccess,
    }),
    restore: useMutation({
      mutationFn: (id: string) => call<WalkDetail>('POST', `/walks/${id}/restore`),
      onSuccess,
    }),
    remove: useMutation({
      mutationFn: (id: string) => call<void>('DELETE', `/walks/${id}`),
      onSuccess: () => queries.invalidateQueries({ queryKey: ['walks'] }),
    }),
  };
}

/** Every change to one walk that the page can ask for. */
export function useWalkChanges(id: string) {
  const queries = useQueryClient();
  const path = `/walks/${id}`;
  const onSuccess = () => takeWalk(queries, id);
  const taken = (walk: WalkDetail) => {
    queries.setQueryData(keys.walk(id), walk);
    takeWalk(queries, id);
  };
  return {
    patch: useMutation({
      mutationFn: (patch: WalkPatch) => call<WalkDetail>('PATCH', path, patch),
      onSuccess: taken,
    }),
    addStop: useMutation({
      mutationFn: (stop: NewStop) => call<WalkDetail>('POST', `${path}/stops`, stop),
      onSuccess: taken,
    }),
    patchStop: useMutation({
      mutationFn: ({ stopId, ...patch }: StopPatch & { stopId: string }) =>
        call<WalkDetail>('PATCH', `${path}/stops/${stopId}`, patch),
      onSuccess: taken,
    }),
    removeStop: useMutation({
      mutationFn: (stopId: string) => call<WalkDetail>('DELETE', `${path}/stops/${stopId}`),
      onSuccess: taken,
    }),
    restoreStop: useMutation({
      mutationFn: (stopId: string) => call<WalkDetail>('POST', `${path}/stops/${stopId}/restore`),
      onSuccess: taken,
    }),
    link: useMutation({ mutationFn: () => call<WalkLink>('POST', `${path}/links`), onSuccess }),
    withdraw: useMutation({ mutationFn: () => call<void>('DELETE', `${path}/links`), onSuccess }),
    share: useMutation({
      mutationFn: (request: { on: boolean; hours?: number }) =>
        call<WalkSharing>('PUT', `${path}/sharing`, request),
      onSuccess: (sharing) => {
        queries.setQueryData(keys.walkSharing, sharing);
        onSuccess();
      },
    }),
    takeFile: useMutation({
      mutationFn: (file: unknown) => call<WalkTaken>('POST', `${path}/file`, file),
      onSuccess,
    }),
    /** The notebook as one file. */
    carry: useMutation({
      mutationFn: async (): Promise<Blob> => {
        const response = await fetch(`/api${path}/page`, { method: 'POST' });
        if (!response.ok) throw failureFrom(response.status, await response.json().catch(() => null));
        return response.blob();
      },
      onSuccess,
    }),
  };
}
