import { z } from 'zod';
import { setFigureIds } from '../compare/reference-set-part.ts';

/**
 * Reference sets, notes, the watch folder and the storage in the HTTP interface.
 *
 * GET    /api/sets                          { sets: ReferenceSet[] }
 * POST   /api/sets                          { name } -> 201 ReferenceSet
 * GET    /api/sets/:setId                   ReferenceSetDetail
 * PATCH  /api/sets/:setId                   { name } -> ReferenceSet
 * DELETE /api/sets/:setId                   204; POST /api/sets/:setId/restore -> ReferenceSet
 * PUT    /api/sets/:setId/members/:versionId    ReferenceSet (a version of kind reference, checked or being checked)
 * DELETE /api/sets/:setId/members/:versionId    ReferenceSet
 * GET    /api/versions/:versionId/standing?set  Standing
 * GET    /api/versions/:versionId/notes     { notes: Note[] }, by time; carried ones included
 * POST   /api/versions/:versionId/notes     NewNote -> 201 Note
 * PATCH  /api/notes/:noteId?version         NotePatch -> Note (`version`: on which version it is ticked off)
 * DELETE /api/notes/:noteId                 204; POST /api/notes/:noteId/restore -> Note
 * GET    /api/watch                         Watch
 * GET    /api/watch/folders?inside          { folders: Folder[] }: what may be chosen, below the user's home; folders are
 *                                           named by tokens the server gave, never by a path from outside
 * POST   /api/watch                         { folder: token } -> Watch; DELETE /api/watch/:watchId -> Watch
 * GET    /api/storage                       Storage
 * POST   /api/storage/clear                 { what: ('playback' | 'passages')[] } -> Storage
 */
export const setName = z.object({ name: z.string().trim().min(1).max(100) });
export const setSchema = z.object({
  id: z.string(),
  name: z.string(),
  changedAt: z.string(),
  members: z.array(
    z.object({ versionId: z.string(), name: z.string(), songTitle: z.string(), checked: z.boolean() }),
  ),
});
/** Of one figure over the references of a set; all null when fewer than one has it. */
export const spreadSchema = z.object({
  lowest: z.number().nullable(),
  lowerQuarter: z.number().nullable(),
  median: z.number().nullable(),
  upperQuarter: z.number().nullable(),
  highest: z.number().nullable(),
  count: z.number().int(),
});
export const setSpreadSchema = z.object({
  centresHz: z.array(z.number()),
  /** Level of each third octave against the whole, dB, at equal loudness. */
  bands: z.array(spreadSchema),
  figures: z.record(z.enum(setFigureIds), spreadSchema),
});
export const setDetailSchema = setSchema.extend({
  /** Over whole songs. */
  whole: setSpreadSchema,
  /** Over the loudest section of each. */
  loudest: setSpreadSchema,
});
export const standingPartSchema = z.object({
  /** 'the whole song' or 'section B, 1:02 to 1:40'. */
  label: z.string(),
  startSeconds: z.number(),
  endSeconds: z.number(),
  centresHz: z.array(z.number()),
  levelsDb: z.array(z.number().nullable()),
  /** The spread it is held against: that of whole songs, or of loudest sections. */
  against: setSpreadSchema,
  figures: z.record(z.enum(setFigureIds), z.number().nullable()),
  /** In plain words, most telling first: 'Between 80 and 160 Hz you are 3 dB above any of your references.' */
  sentences: z.array(z.string()),
});
export const standingSchema = z.object({
  versionId: z.string(),
  setId: z.string(),
  headline: z.string(),
  whole: standingPartSchema,
  sections: z.array(standingPartSchema),
});

export const noteSchema = z.object({
  id: z.string(),
  /** The version it was written on. */
  versionId: z.string(),
  /** On the version that was asked for: carried there by alignment when it was written on an earlier one. */
  atSeconds: z.number(),
  endSeconds: z.number().nullable(),
  text: z.string(),
  /** Whether it is ticked off on the version that was asked for. */
  done: z.boolean(),
  /** The version it came from when it was written on another; null otherwise. */
  carriedFrom: z.object({ versionId: z.string(), name: z.string(), atSeconds: z.number() }).nullable(),
  /** Why its place may be wrong (that part is not in this version); null when it is right. */
  doubt: z.string().nullable(),
  createdAt: z.string(),
});
const noteText = z.string().trim().min(1).max(2000);
export const newNote = z.object({
  atSeconds: z.number().min(0),
  endSeconds: z.number().nullable().default(null),
  text: noteText,
});
export const notePatch = z.object({
  text: noteText.optional(),
  atSeconds: z.number().min(0).optional(),
  endSeconds: z.number().nullable().optional(),
  done: z.boolean().optional(),
});

export const watchSchema = z.object({
  folders: z.array(
    z.object({
      id: z.string(),
      path: z.string(),
      /** Why nothing is taken from it now (it is gone, may not be read); null when all is well. */
      trouble: z.string().nullable(),
    }),
  ),
  /** Newest first: what came in by itself, and what changed in three lines at most. */
  arrivals: z.array(
    z.object({
      at: z.string(),
      fileName: z.string(),
      versionId: z.string().nullable(),
      songId: z.string().nullable(),
      songTitle: z.string().nullable(),
      /** How the song was recognised, or why the file was not taken. */
      how: z.string(),
      lines: z.array(z.string()),
    }),
  ),
});
export const folderSchema = z.object({ token: z.string(), name: z.string(), path: z.string() });
export const clearRequest = z.object({ what: z.array(z.enum(['playback', 'passages'])).max(2) });
export const storageSchema = z.object({
  audioBytes: z.number(),
  /** Sound made ready for the desk. */
  playbackBytes: z.number(),
  /** Coded passages. */
  passageBytes: z.number(),
  databaseBytes: z.number(),
  /** Of deleted songs and versions that can still be taken back. */
  deletedBytes: z.number(),
  freeBytes: z.number(),
});

export type ReferenceSet = z.infer<typeof setSchema>;
export type ReferenceSetDetail = z.infer<typeof setDetailSchema>;
export type SetSpread = z.infer<typeof setSpreadSchema>;
export type Spread = z.infer<typeof spreadSchema>;
export type Standing = z.infer<typeof standingSchema>;
export type StandingPart = z.infer<typeof standingPartSchema>;
export type Note = z.infer<typeof noteSchema>;
export type NewNote = z.input<typeof newNote>;
export type NotePatch = z.input<typeof notePatch>;
export type Watch = z.infer<typeof watchSchema>;
export type Folder = z.infer<typeof folderSchema>;
export type Storage = z.infer<typeof storageSchema>;
