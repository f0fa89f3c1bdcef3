import { keepPreviousData, useMutation, useQuery, useQueryClient } from '@tanstack/react-query';
import type {
  Folder,
  NewNote,
  Note,
  NotePatch,
  ReferenceSet,
  ReferenceSetDetail,
  Standing,
  Storage,
  Watch,
} from '../../src/server/keeping-api.ts';
import { keys, takeSetsChanged } from './cache.ts';
import { call } from './client.ts';

export const useSets = () =>
  useQuery({
    queryKey: keys.sets,
    queryFn: async () => (await call<{ sets: ReferenceSet[] }>('GET', '/sets')).sets,
  });

export const useSet = (id: string) =>
  useQuery({ queryKey: keys.set(id), queryFn: () => call<ReferenceSetDetail>('GET', `/sets/${id}`) });

/** How a version stands against a set; nothing is asked for while one of the two is not chosen. */
export const useStanding = (versionId: string | null, setId: string | null) =>
  useQuery({
    queryKey: keys.standing(versionId ?? '', setId ?? ''),
    queryFn: () => call<Standing>('GET', `/versions/${versionId}/standing?set=${setId}`),
    enabled: versionId !== null && setId !== null,
    placeholderData: keepPreviousData,
    retry: false,
  });

export const useNotes = (versionId: string) =>
  useQuery({
    queryKey: keys.notes(versionId),
    queryFn: async () => (await call<{ notes: Note[] }>('GET', `/versions/${versionId}/notes`)).notes,
    placeholderData: keepPreviousData,
  });

export const useWatch = () => useQuery({ queryKey: keys.watch, queryFn: () => call<Watch>('GET', '/watch') });

/** The folders inside one that the server named (null: where choosing begins). */
export const useFolders = (inside: string | null, enabled: boolean) =>
  useQuery({
    queryKey: keys.folders(inside),
    queryFn: async () =>
      (
        await call<{ folders: Folder[] }>(
          'GET',
          `/watch/folders${inside === null ? '' : `?inside=${encodeURIComponent(inside)}`}`,
        )
      ).folders,
    enabled,
    retry: false,
  });

export const useStorage = () =>
  useQuery({ queryKey: keys.storage, queryFn: () => call<Storage>('GET', '/storage'), staleTime: 0 });

export function useSetChanges() {
  const queries = useQueryClient();
  const onSuccess = () => takeSetsChanged(queries);
  return {
    makeSet: useMutation({
      mutationFn: (name: string) => call<ReferenceSet>('POST', '/sets', { name }),
      onSuccess,
    }),
    renameSet: useMutation({
      mutationFn: ({ id, name }: { id: string; name: string }) =>
        call<ReferenceSet>('PATCH', `/sets/${id}`, { name }),
      onSuccess,
    }),
    deleteSet: useMutation({ mutationFn: (id: string) => call<void>('DELETE', `/sets/${id}`), onSuccess }),
    restoreSet: useMutation({
      mutationFn: (id: string) => call<ReferenceSet>('POST', `/sets/${id}/restore`),
      onSuccess,
    }),
    addMember: useMutation({
      mutationFn: ({ setId, versionId }: { setId: string; versionId: string }) =>
        call<ReferenceSet>('PUT', `/sets/${setId}/members/${versionId}`),
      onSuccess,
    }),
    removeMember: useMutation({
      mutationFn: ({ setId, versionId }: { setId: string; versionId: string }) =>
        call<ReferenceSet>('DELETE', `/sets/${setId}/members/${versionId}`),
      onSuccess,
    }),
  };
}

export type SetChanges = ReturnType<typeof useSetChanges>;

/** Every change to the notes as they stand on one version. */
export function useNoteChanges(versionId: string) {
  const queries = useQueryClient();
  const onSuccess = () => queries.invalidateQueries({ queryKey: ['notes'] });
  return {
    addNote: useMutation({
      mutationFn: (note: NewNote) => call<Note>('POST', `/versions/${versionId}/notes`, note),
      onSuccess,
    }),
    patchNote: useMutation({
      mutationFn: ({ id, ...patch }: NotePatch & { id: string }) =>
        call<Note>('PATCH', `/notes/${id}?version=${versionId}`, patch),
      onSuccess,
    }),
    deleteNote: useMutation({ mutationFn: (id: string) => call<void>('DELETE', `/notes/${id}`), onSuccess }),
    restoreNote: useMutation({
      mutationFn: (id: string) => call<Note>('POST', `/notes/${id}/restore`),
      onSuccess,
    }),
  };
}

export type NoteChanges = ReturnType<typeof useNoteChanges>;

export function useWatchChanges() {
  const queries = useQueryClient();
  const onSuccess = (watch: Watch) => queries.setQueryData(keys.watch, watch);
  return {
    watchFolder: useMutation({
      mutationFn: (folder: string) => call<Watch>('POST', '/watch', { folder }),
      onSuccess,
    }),
    unwatchFolder: useMutation({
      mutationFn: (id: string) => call<Watch>('DELETE', `/watch/${id}`),
      onSuccess,
    }),
  };
}

export function useClearStorage() {
  const queries = useQueryClient();
  return useMutation({
    mutationFn: (what: ('playback' | 'passages')[]) => call<Storage>('POST', '/storage/clear', { what }),
    onSuccess: (storage: Storage) => queries.setQueryData(keys.storage, storage),
  });
}
