import { keepPreviousData, useMutation, useQuery, useQueryClient } from '@tanstack/react-query';
import type { Chain } from '../../src/finish/chain.ts';
import type { CeilingStep } from '../../src/judge/finish-report.ts';
import type { Job } from '../../src/server/api.ts';
import type {
  Accepted,
  ChainDetail,
  ChainLook,
  ChainStepDetail,
  ChainSteps,
  ChainSummary,
  Proposal,
  ProposalRequest,
} from '../../src/server/chains-api.ts';
import type {
  CeilingStepsRequest,
  ChainLoudness,
  Finishing,
  FinishRequest,
  LoudnessRequest,
} from '../../src/server/finishing-api.ts';
import { keys } from './cache.ts';
import { call } from './client.ts';

export const useChains = (songId: string) =>
  useQuery({
    queryKey: keys.chains(songId),
    queryFn: async () => (await call<{ chains: ChainSummary[] }>('GET', `/songs/${songId}/chains`)).chains,
  });

export const useChain = (id: string) =>
  useQuery({ queryKey: keys.chain(id), queryFn: () => call<ChainDetail>('GET', `/chains/${id}`) });

/** Everything a chain was; `step` is where it stands, so that the list is asked for again with every change. */
export const useChainSteps = (id: string, step: number, before: number | null) =>
  useQuery({
    queryKey: keys.chainSteps(id, step, before),
    queryFn: () =>
      call<ChainSteps>('GET', `/chains/${id}/steps${before === null ? '' : `?before=${before}`}`),
    placeholderData: keepPreviousData,
  });

/** A step never changes. */
export const stepQuery = (id: string, step: number) => ({
  queryKey: keys.chainStep(id, step),
  queryFn: () => call<ChainStepDetail>('GET', `/chains/${id}/steps/${step}`),
  staleTime: Number.POSITIVE_INFINITY,
});

export interface Span {
  readonly startSeconds: number;
  readonly endSeconds: number;
}

/** How loud a chain makes a version, on a part of it; worked out once for each chain and part. */
export const loudnessQuery = (versionId: string, chain: Chain, span: Span | null) => ({
  queryKey: keys.chainLoudness(versionId, chain, span),
  queryFn: ({ signal }: { signal: AbortSignal }) =>
    call<ChainLoudness>(
      'POST',
      `/versions/${versionId}/chain-loudness`,
      { chain, ...(span ? { span } : {}) },
      signal,
    ),
  staleTime: Number.POSITIVE_INFINITY,
  retry: false,
});

export const useProposal = (chainId: string, request: ProposalRequest | null) =>
  useQuery({
    queryKey: keys.proposal(chainId, request),
    queryFn: () => call<Proposal>('POST', `/chains/${chainId}/proposals`, request),
    enabled: request !== null,
    placeholderData: keepPreviousData,
    retry: false,
  });

export const useLook = (versionId: string, chain: Chain, wanted: boolean) =>
  useQuery({
    queryKey: keys.chainLook(versionId, chain),
    queryFn: ({ signal }) => call<ChainLook>('POST', `/versions/${versionId}/chain-look`, { chain }, signal),
    enabled: wanted,
    staleTime: Number.POSITIVE_INFINITY,
    retry: false,
  });

export const useFinishing = (versionId: string) =>
  useQuery({
    queryKey: keys.finishing(versionId),
    queryFn: () => call<Finishing>('GET', `/versions/${versionId}/finishing`),
    retry: false,
  });

export const useCeilingSteps = (versionId: string, chain: Chain, wanted: boolean) =>
  useQuery({
    queryKey: keys.ceilingSteps(versionId, chain),
    queryFn: () =>
      call<{ steps: CeilingStep[] }>('POST', `/versions/${versionId}/ceiling-steps`, {
        chain: { ...chain, parts: [...chain.parts] },
      } satisfies CeilingStepsRequest),
    enabled: wanted,
    staleTime: Number.POSITIVE_INFINITY,
    retry: false,
  });

/** What changes a list of chains or one chain; its answer is the chain as it then is. */
export function useChainActs(songId: string) {
  const queries = useQueryClient();
  const onSuccess = (detail: ChainDetail) => {
    queries.setQueryData(keys.chain(detail.id), detail);
    void queries.invalidateQueries({ queryKey: keys.chains(songId) });
  };
  return {
    make: useMutation({
      mutationFn: ({ versionId, ...body }: { versionId: string; name?: string; chain?: unknown }) =>
        call<ChainDetail>('POST', `/versions/${versionId}/chains`, body),
      onSuccess,
    }),
    copy: useMutation({
      mutationFn: ({ id, versionId }: { id: string; versionId: string }) =>
        call<ChainDetail>('POST', `/chains/${id}/copy`, { versionId }),
      onSuccess,
    }),
    rename: useMutation({
      mutationFn: ({ id, name }: { id: string; name: string }) =>
        call<ChainDetail>('PATCH', `/chains/${id}`, { name }),
      onSuccess,
    }),
    remove: useMutation({
      mutationFn: (id: string) => call<void>('DELETE', `/chains/${id}`),
      onSuccess: () => queries.invalidateQueries({ queryKey: keys.chains(songId) }),
    }),
    restore: useMutation({
      mutationFn: (id: string) => call<ChainDetail>('POST', `/chains/${id}/restore`),
      onSuccess,
    }),
    renameSnapshot: useMutation({
      mutationFn: ({ id, snapshotId, name }: { id: string; snapshotId: string; name: string }) =>
        call<ChainDetail>('PATCH', `/chains/${id}/snapshots/${snapshotId}`, { name }),
      onSuccess,
    }),
    removeSnapshot: useMutation({
      mutationFn: ({ id, snapshotId }: { id: string; snapshotId: string }) =>
        call<ChainDetail>('DELETE', `/chains/${id}/snapshots/${snapshotId}`),
      onSuccess,
    }),
  };
}

export type ChainActs = ReturnType<typeof useChainActs>;

/** One change of a chain that was seen at `revision`; resolves to what it then is. */
export const changeChain = (id: string, body: { revision: number; chain: Chain }) =>
  call<ChainDetail>('PUT', `/chains/${id}/chain`, body);
export const moveChain = (id: string, to: 'undo' | 'redo', revision: number) =>
  call<ChainDetail>('POST', `/chains/${id}/${to}`, { revision });
export const returnTo = (id: string, revision: number, step: number) =>
  call<ChainDetail>('POST', `/chains/${id}/return`, { revision, step });
export const nameSnapshot = (id: string, revision: number, name: string) =>
  call<ChainDetail>('POST', `/chains/${id}/snapshots`, { revision, name });
export const acceptProposal = (id: string, body: Accepted) =>
  call<ChainDetail>('POST', `/chains/${id}/accept`, body);

/** What asks for finished sound. */
export function useFinishActs(versionId: string) {
  const queries = useQueryClient();
  const onSettled = () => queries.invalidateQueries({ queryKey: keys.finishing(versionId) });
  return {
    finish: useMutation({
      mutationFn: (request: FinishRequest) => call<Job>('POST', `/versions/${versionId}/finish`, request),
      onSettled,
    }),
    tryLoudness: useMutation({
      mutationFn: (request: LoudnessRequest) => call<Job>('POST', `/versions/${versionId}/loudness`, request),
      onSettled,
    }),
    keepDraft: useMutation({
      mutationFn: ({ draftId, chainId }: { draftId: string; chainId: string }) =>
        call<{ id: string }>('POST', `/drafts/${draftId}/keep`, { chainId }),
      onSettled: () => {
        void onSettled();
        void queries.invalidateQueries({ queryKey: ['song'] });
      },
    }),
  };
}
