import { keepPreviousData, useMutation, useQuery, useQueryClient } from '@tanstack/react-query';
import type {
  DeskSong,
  ExposureReport,
  Level,
  LevelPatch,
  Match,
  MatchRequest,
} from '../../src/server/desk-api.ts';
import { keys } from './cache.ts';
import { call } from './client.ts';

/** How often a song is asked for anew while versions are still being laid beside each other, milliseconds. */
const alignEvery = 1000;

export const useDeskSong = (songId: string) =>
  useQuery({
    queryKey: keys.desk(songId),
    queryFn: () => call<DeskSong>('GET', `/desk/songs/${songId}`),
    refetchInterval: ({ state }) =>
      state.data?.sources.some(({ aligned }) => aligned === 'waiting') ? alignEvery : false,
  });

/** What brings these parts to one loudness; while another match is fetched, the last stays. */
export const useMatch = (parts: MatchRequest['parts']) =>
  useQuery({
    queryKey: keys.match(parts),
    queryFn: () => call<Match>('POST', '/desk/match', { parts }),
    enabled: parts.length > 0,
    staleTime: Number.POSITIVE_INFINITY,
    placeholderData: keepPreviousData,
  });

export const useLevel = () =>
  useQuery({ queryKey: keys.level, queryFn: () => call<Level>('GET', '/desk/level') });

export function useLevelChanges() {
  const queries = useQueryClient();
  const onSuccess = (level: Level) => queries.setQueryData(keys.level, level);
  return {
    patchLevel: useMutation({
      mutationFn: (patch: LevelPatch) => call<Level>('PUT', '/desk/level', patch),
      onSuccess,
    }),
    reportExposure: useMutation({
      mutationFn: (report: ExposureReport) => call<Level>('POST', '/desk/exposure', report),
      onSuccess,
    }),
  };
}
