import { useMutation, useQuery, useQueryClient } from '@tanstack/react-query';
import type {
  Delivery,
  NewRecord,
  NewReviewLink,
  ProfileTerms,
  RecordDetail,
  RecordPlan,
  RecordSummary,
  ReviewLink,
  ReviewSharing,
  Reviews,
} from '../../src/server/records-api.ts';
import { keys, takeRecord } from './cache.ts';
import { call, failureFrom, unreachable } from './client.ts';

export const useRecords = () =>
  useQuery({
    queryKey: keys.records,
    queryFn: async () => (await call<{ records: RecordSummary[] }>('GET', '/records')).records,
  });

export const useRecord = (id: string) =>
  useQuery({ queryKey: keys.record(id), queryFn: () => call<RecordDetail>('GET', `/records/${id}`) });

/** What would be delivered; asked anew when the record changes, while the last answer stays to be read. */
export const useRecordPlan = (id: string, changedAt: string) =>
  useQuery({
    queryKey: keys.recordPlan(id, changedAt),
    queryFn: () => call<RecordPlan>('POST', `/records/${id}/plan`),
    placeholderData: (before) => before,
    retry: false,
  });

export const useDeliveryProfiles = () =>
  useQuery({
    queryKey: keys.deliveryProfiles,
    queryFn: async () => (await call<{ profiles: ProfileTerms[] }>('GET', '/records/profiles')).profiles,
    staleTime: Number.POSITIVE_INFINITY,
  });

export const useReviews = (versionId: string) =>
  useQuery({
    queryKey: keys.reviews(versionId),
    queryFn: () => call<Reviews>('GET', `/versions/${versionId}/reviews`),
  });

export const useReviewSharing = () =>
  useQuery({
    queryKey: keys.reviewSharing,
    queryFn: () => call<ReviewSharing>('GET', '/reviews/sharing'),
  });

/** A new record, and deleting one with the way back. */
export function useRecordMaking() {
  const queries = useQueryClient();
  const onSuccess = (record: RecordDetail) => {
    queries.setQueryData(keys.record(record.id), record);
    takeRecord(queries, record.id);
  };
  return {
    make: useMutation({
      mutationFn: (wanted: NewRecord) => call<RecordDetail>('POST', '/records', wanted),
      onSuccess,
    }),
    restore: useMutation({
      mutationFn: (id: string) => call<RecordDetail>('POST', `/records/${id}/restore`),
      onSuccess,
    }),
    remove: useMutation({
      mutationFn: (id: string) => call<void>('DELETE', `/records/${id}`),
      onSuccess: () => queries.invalidateQueries({ queryKey: keys.records }),
    }),
  };
}

/** Every change to one record that the page can ask for. */
export function useRecordChanges(id: string) {
  const queries = useQueryClient();
  const path = `/records/${id}`;
  const taken = (record: RecordDetail) => {
    queries.setQueryData(keys.record(id), record);
    takeRecord(queries, id);
  };
  const told = () => takeRecord(queries, id);
  return {
    put: useMutation({
      mutationFn: (record: RecordDetail['record']) => call<RecordDetail>('PUT', path, record),
      // What was dragged lies where it was put, before the server has said so.
      onMutate: (record) =>
        queries.setQueryData<RecordDetail>(keys.record(id), (known) => known && { ...known, record }),
      onSuccess: taken,
      onError: told,
    }),
    artwork: useMutation({
      mutationFn: async (file: File): Promise<RecordDetail> => {
        const query = new URLSearchParams({ name: file.name });
        const response = await fetch(`/api${path}/artwork?${query}`, {
          method: 'POST',
          headers: { 'content-type': 'application/octet-stream' },
          body: file,
        }).catch(() => {
          throw unreachable();
        });
        const json: unknown = await response.json().catch(() => null);
        if (!response.ok) throw failureFrom(response.status, json);
        return json as RecordDetail;
      },
      onSuccess: taken,
    }),
    dropArtwork: useMutation({
      mutationFn: () => call<RecordDetail>('DELETE', `${path}/artwork`),
      onSuccess: taken,
    }),
    deliver: useMutation({
      mutationFn: (folder: string | undefined) => call<Delivery>('POST', `${path}/deliveries`, { folder }),
      onSuccess: told,
    }),
    stop: useMutation({
      mutationFn: (delivery: string) => call<Delivery>('POST', `/deliveries/${delivery}/stop`),
      onSuccess: told,
    }),
    resume: useMutation({
      mutationFn: (delivery: string) => call<Delivery>('POST', `/deliveries/${delivery}/resume`),
      onSuccess: told,
    }),
  };
}

/** Links by which somebody may hear a version, and sharing it. */
export function useReviewing(versionId: string) {
  const queries = useQueryClient();
  const path = `/versions/${versionId}/reviews`;
  return {
    link: useMutation({
      mutationFn: (wanted: NewReviewLink) => call<ReviewLink>('POST', `${path}/links`, wanted),
    }),
    withdraw: useMutation({ mutationFn: () => call<void>('DELETE', `${path}/links`) }),
    share: useMutation({
      mutationFn: (request: { on: boolean; hours?: number }) =>
        call<ReviewSharing>('PUT', `${path}/sharing`, request),
      onSuccess: (sharing) => queries.setQueryData(keys.reviewSharing, sharing),
    }),
  };
}
