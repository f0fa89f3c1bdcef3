import { useMutation, useQuery, useQueryClient } from '@tanstack/react-query';
import type { Job } from '../../src/server/api.ts';
import type {
  MeasuredChoice,
  Measuring,
  MeasuringPatch,
  NewMeasuring,
  PlaceEntry,
  PlacePatch,
  PlacesRequest,
  SongPlaces,
  SweepAbout,
} from '../../src/server/places-api.ts';
import { keys, takeJob, takePlaces } from './cache.ts';
import { call } from './client.ts';

export const usePlaces = () =>
  useQuery({
    queryKey: keys.places,
    queryFn: async () => (await call<{ places: PlaceEntry[] }>('GET', '/places')).places,
  });

export const usePlace = (id: string) =>
  useQuery({
    queryKey: keys.place(id),
    queryFn: () => call<PlaceEntry>('GET', `/places/${id}`),
    retry: false,
  });

export const useSongPlaces = (versionId: string) =>
  useQuery({
    queryKey: keys.songPlaces(versionId),
    queryFn: () => call<SongPlaces>('GET', `/versions/${versionId}/places`),
  });

/** Asks for a version in places. */
export function usePlacesRun(versionId: string) {
  const queries = useQueryClient();
  return useMutation({
    mutationFn: (request: PlacesRequest) => call<Job>('POST', `/versions/${versionId}/places`, request),
    onSuccess: (job: Job) => takeJob(queries, job),
  });
}

/** The same choice as the address of the sound and as what is known of it. */
export const sweepAddress = (seconds: number) => `seconds=${seconds}`;

export const useSweep = (seconds: number) =>
  useQuery({
    queryKey: keys.sweep(seconds),
    queryFn: () => call<SweepAbout>('GET', `/places/sweep?${sweepAddress(seconds)}`),
    staleTime: Number.POSITIVE_INFINITY,
  });

export const useMeasurings = () =>
  useQuery({
    queryKey: keys.measurings,
    queryFn: async () => (await call<{ measurings: Measuring[] }>('GET', '/places/measurings')).measurings,
  });

export const useMeasuring = (id: string) =>
  useQuery({
    queryKey: keys.measuring(id),
    queryFn: () => call<Measuring>('GET', `/places/measurings/${id}`),
    retry: false,
  });

/** Every change to the library. */
export function usePlaceChanges() {
  const queries = useQueryClient();
  const onSuccess = () => takePlaces(queries, {});
  return {
    copyPlace: useMutation({
      mutationFn: (id: string) => call<PlaceEntry>('POST', `/places/${id}/copy`, {}),
      onSuccess,
    }),
    patchPlace: useMutation({
      mutationFn: ({ id, ...patch }: PlacePatch & { id: string }) =>
        call<PlaceEntry>('PATCH', `/places/${id}`, patch),
      onSuccess,
    }),
    deletePlace: useMutation({
      mutationFn: (id: string) => call<void>('DELETE', `/places/${id}`),
      onSuccess,
    }),
    restorePlace: useMutation({
      mutationFn: (id: string) => call<PlaceEntry>('POST', `/places/${id}/restore`),
      onSuccess,
    }),
  };
}

export type PlaceChanges = ReturnType<typeof usePlaceChanges>;

/** Every change to a measuring; what it made of a recording comes with an event. */
export function useMeasuringChanges() {
  const queries = useQueryClient();
  const onSuccess = (measuring: Measuring) => {
    queries.setQueryData(keys.measuring(measuring.id), measuring);
    takePlaces(queries, { measuringId: measuring.id });
  };
  return {
    begin: useMutation({
      mutationFn: (request: NewMeasuring) => call<Measuring>('POST', '/places/measurings', request),
      onSuccess,
    }),
    patch: useMutation({
      mutationFn: ({ id, ...patch }: MeasuringPatch & { id: string }) =>
        call<Measuring>('PATCH', `/places/measurings/${id}`, patch),
      onSuccess,
    }),
    cancel: useMutation({
      mutationFn: (id: string) => call<Measuring>('POST', `/places/measurings/${id}/cancel`),
      onSuccess,
    }),
    remove: useMutation({
      mutationFn: (id: string) => call<void>('DELETE', `/places/measurings/${id}`),
      onSuccess: () => queries.invalidateQueries({ queryKey: keys.measurings }),
    }),
    makePlace: useMutation({
      mutationFn: ({ id, ...choice }: MeasuredChoice & { id: string }) =>
        call<PlaceEntry>('POST', `/places/measurings/${id}/place`, choice),
      onSuccess: (_place, { id }) => takePlaces(queries, { measuringId: id }),
    }),
  };
}

export type MeasuringChanges = ReturnType<typeof useMeasuringChanges>;
