import { keepPreviousData, useMutation, useQuery, useQueryClient } from '@tanstack/react-query';
import type {
  AtEar,
  DeskSong,
  DeskSource,
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

/** The references of a set that can be heard; nothing is asked for without a set. */
export const useDeskReferences = (setId: string | null, members: readonly string[]) =>
  useQuery({
    queryKey: keys.deskReferences(setId ?? '', members),
    queryFn: async () => (await call<{ sources: DeskSource[] }>('GET', `/desk/sets/${setId}`)).sources,
    enabled: setId !== null && members.length > 0,
    placeholderData: keepPreviousData,
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

/** Roughly how loud a sound is where the listener sits; while the next is fetched, the last stays. */
export const useAtEar = (name: string, lufs: number | null) => {
  const heard = lufs === null ? null : lufs.toFixed(1);
  return useQuery({
    queryKey: keys.atEar(name, heard),
    queryFn: () =>
      call<AtEar>(
        'GET',
        `/desk/level/at-ear?${new URLSearchParams({ name, ...(heard === null ? {} : { lufs: heard }) })}`,
      ),
    placeholderData: keepPreviousData,
  });
};

export function useLevelChanges() {
  const queries = useQueryClient();
  const onSuccess = (level: Level) => {
    const before = queries.getQueryData<Level>(keys.level)?.calibration?.madeAt;
    queries.setQueryData(keys.level, level);
    if (level.calibration?.madeAt !== before) void queries.invalidateQueries({ queryKey: ['at-ear'] });
  };
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
