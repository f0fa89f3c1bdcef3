import { keepPreviousData, useMutation, useQuery, useQueryClient } from '@tanstack/react-query';
import type {
  CatalogueComparison,
  CatalogueRun,
  CatalogueRunDetail,
  CatalogueVerdict,
  SongsPage,
} from '../../src/server/catalogue-api.ts';
import { keys } from './cache.ts';
import { call } from './client.ts';

/** Milliseconds between two looks at what is being worked on; the work may be on other machines, which send no events here. */
const lookEvery = 2000;

interface Catalogues {
  readonly where: 'sqlite' | 'postgres';
  readonly runs: CatalogueRun[];
}

export const useCatalogues = () =>
  useQuery({
    queryKey: keys.catalogues,
    queryFn: () => call<Catalogues>('GET', '/catalogue'),
    staleTime: 0,
    refetchInterval: ({ state }) =>
      state.data?.runs.some(({ endedMs }) => endedMs === null) ? lookEvery : false,
  });

export const useCatalogueRun = (id: string) =>
  useQuery({
    queryKey: keys.catalogueRun(id),
    queryFn: () => call<CatalogueRunDetail>('GET', `/catalogue/runs/${id}`),
    staleTime: 0,
    refetchInterval: ({ state }) => (state.data?.endedMs === null ? lookEvery : false),
  });

/** A page of songs, as the address asks for it; the last one stays in sight until the next is here. */
export const useCatalogueSongs = (id: string, query: string, isOpen: boolean) =>
  useQuery({
    queryKey: keys.catalogueSongs(id, query),
    queryFn: () => call<SongsPage>('GET', `/catalogue/runs/${id}/songs?${query}`),
    placeholderData: keepPreviousData,
    refetchInterval: isOpen ? lookEvery : false,
    retry: false,
  });

export const useCatalogueSong = (id: string, seq: string) =>
  useQuery({
    queryKey: keys.catalogueSong(id, seq),
    queryFn: () => call<CatalogueVerdict>('GET', `/catalogue/runs/${id}/songs/${encodeURIComponent(seq)}`),
  });

export const useCatalogueComparison = (id: string, earlier: string | null) =>
  useQuery({
    queryKey: keys.catalogueComparison(id, earlier),
    queryFn: () => call<CatalogueComparison>('GET', `/catalogue/runs/${id}/compare?with=${earlier}`),
    enabled: earlier !== null,
  });

export function useStopRun() {
  const queries = useQueryClient();
  return useMutation({
    mutationFn: (id: string) => call<CatalogueRun>('POST', `/catalogue/runs/${id}/stop`),
    onSuccess: ({ id }) => queries.invalidateQueries({ queryKey: keys.catalogueRun(id) }),
  });
}
