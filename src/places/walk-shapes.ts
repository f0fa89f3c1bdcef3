import { z } from 'zod';
import { walkScales } from './walk-scales.ts';

const handle = z.string().regex(/^[a-z2-7]{26}$/);
const stopId = z.string().regex(/^[a-z0-9]{16,32}$/);
const name = z.string().trim().min(1).max(80);
const base = {
  /** Made once for a note, by chance; a note that comes twice counts once. */
  key: z.string().regex(/^[A-Za-z0-9_-]{16,64}$/),
  stop: stopId,
  /** When it was tapped, by the clock of the device. */
  at: z.iso.datetime(),
};
/** 'song', or the place of a reference in the walk's list, from 0. */
const subject = z.union([z.literal('song'), z.number().int().min(0).max(3)]);

/**
 * One note, as it goes from a notebook to the bench. Notes are never changed: what one thinks later is a later note, and all are
 * kept. A value of null takes back what was said.
 */
export const walkNoteSchema = z.discriminatedUnion('what', [
  /** -1 too little, 0 right, 1 too much; halves for 'a little'. */
  z.strictObject({
    what: z.enum(walkScales),
    ...base,
    subject,
    value: z.number().min(-1).max(1).multipleOf(0.5).nullable(),
  }),
  z.strictObject({ what: z.literal('words'), ...base, subject, value: z.string().max(1000).nullable() }),
  /** How much the listener trusts the place, 0 to 1. */
  z.strictObject({ what: z.literal('trust'), ...base, value: z.number().min(0).max(1) }),
]);
export type WalkNote = z.infer<typeof walkNoteSchema>;

/** A place that was not planned and is added on the way. */
export const walkNewStopSchema = z.strictObject({ id: stopId, name });

/** What a notebook sends. */
export const walkSyncSchema = z.strictObject({
  /** Told apart in the history: chance, one a browser. */
  device: z.string().regex(/^[a-z0-9]{8,32}$/),
  stops: z.array(walkNewStopSchema).max(50),
  notes: z.array(walkNoteSchema).max(2000),
});
export type WalkSync = z.infer<typeof walkSyncSchema>;

/** What counts now at a stop, of one subject. */
export const walkTapsSchema = z.strictObject({
  scales: z.partialRecord(z.enum(walkScales), z.number()),
  words: z.string().nullable(),
});
export type WalkTapsNow = z.infer<typeof walkTapsSchema>;

/** A place of the walk, with what counts now. */
export const walkStopSchema = z.strictObject({
  id: stopId,
  name,
  trust: z.number(),
  song: walkTapsSchema,
  references: z.array(walkTapsSchema),
});
export type WalkStopNow = z.infer<typeof walkStopSchema>;

/** All that a notebook is told: names, what counts, and how the sounds are called. Strict, so that nothing rides along. */
export const walkNotebookSchema = z.strictObject({
  /** Of this walk, for what is kept in the browser. */
  notebook: handle,
  title: z.string(),
  /** The references first, the song last; handles of sounds of equal loudness and length. */
  sounds: z.array(z.strictObject({ name: z.string(), sound: handle })).min(2),
  /** Of each sound. */
  seconds: z.number(),
  stops: z.array(walkStopSchema),
  /** Clock of the bench, by which a device may put its own right. */
  now: z.iso.datetime(),
});
export type WalkNotebook = z.infer<typeof walkNotebookSchema>;

/** What a page that is carried along holds, in script tags: the notebook, and where it may send its notes. */
export const walkPageSchema = z.strictObject({
  format: z.literal('everyroom-walk-page/1'),
  notebook: walkNotebookSchema,
  /** Addresses of the bench with the token of this page; tried while the page is open. */
  reach: z.array(z.string()),
});
export type WalkPageData = z.infer<typeof walkPageSchema>;

/** The file that a notebook gives: everyroom-walk-notes.json. */
export const walkFileSchema = z.strictObject({
  format: z.literal('everyroom-walk-notes/1'),
  notebook: handle,
  ...walkSyncSchema.shape,
});
export type WalkFile = z.infer<typeof walkFileSchema>;
