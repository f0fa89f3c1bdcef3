import { z } from 'zod';
import { wideBandNames } from '../measure/wide-bands.ts';
import { walkStopSchema } from '../places/walk-shapes.ts';

/**
 * The walk in the HTTP interface: notes that are taken in real places, and the correction that is solved from them.
 *
 * GET    /api/walks?songId                    { walks: WalkSummary[] }, newest first
 * POST   /api/walks                           NewWalk -> 201 WalkDetail
 * GET    /api/walks/:id                       WalkDetail
 * PATCH  /api/walks/:id                       WalkPatch -> WalkDetail
 * DELETE /api/walks/:id                       204; POST /api/walks/:id/restore -> WalkDetail (for a day)
 * POST   /api/walks/:id/stops                 NewStop -> 201 WalkDetail
 * PATCH  /api/walks/:id/stops/:stopId         StopPatch -> WalkDetail
 * DELETE /api/walks/:id/stops/:stopId         WalkDetail; POST /api/walks/:id/stops/:stopId/restore -> WalkDetail. Notes stay
 * GET    /api/walks/:id/history?stopId        { notes: HistoryNote[] }: every note there ever was, newest first
 *
 * POST   /api/walks/:id/file                  a WalkFile (places/walk-shapes.ts) -> Taken. Twice is once
 * POST   /api/walks/:id/page                  text/html: a notebook in one file, with its sounds, to be carried along
 * POST   /api/walks/:id/links                 { hours? } -> 201 WalkLink: opens the notebook here and, while shared, on the
 *                                             network; told once
 * DELETE /api/walks/:id/links                 204: every link and every page that was carried along can send no more; their
 *                                             files can still be taken in
 * GET    /api/walks/sharing                   WalkSharing
 * PUT    /api/walks/:id/sharing               { on, hours? } -> WalkSharing: one walk at a time
 *
 * GET    /api/walks/:id/correction?refuse     Correction: solved from what counts now; `refuse` names bands to be left out
 *                                             ('1,3'). Answers when what is heard in the places has been worked out (kept)
 * GET    /api/walks/:id/predictions?refuse    Predictions: what every place would hear, before anything is changed (kept)
 *
 * GET /api/events tells 'walk' ({ walkId }) whenever one of these answers has changed.
 *
 * The notebook's side, the same on loopback and on the shared address; nothing else is ever sent there:
 *
 * GET  /w/:token                      the notebook page, the same for every token
 * GET  /w/:token/notebook             WalkNotebook
 * GET  /w/:token/sounds/:handle       audio/wav, 24 bits, equally loud and long
 * POST /w/:token/notes                WalkSync -> 200 WalkNotebook: on the disk when it is answered
 * GET  /w/:token/page.html            the notebook with its sounds in one file, to be carried along
 *
 * On the shared address, /notes also takes what a page that was opened from disk sends ('Origin: null', text/plain): the token
 * alone says who may.
 */
const title = z.string().trim().min(1).max(200);
const placeName = z.string().trim().min(1).max(80);
const placeId = z.string().max(100);

export const newStop = z.object({
  /** Of the library, built-in or own; the name is the place's when left out. null: only a name. */
  placeId: placeId.nullable().default(null),
  name: placeName.optional(),
  trust: z.number().min(0).max(1).default(0.8),
});
export const stopPatch = z.object({
  placeId: placeId.nullable().optional(),
  name: placeName.optional(),
  trust: z.number().min(0).max(1).optional(),
});
export const newWalk = z.object({
  versionId: z.string(),
  /** Other songs that the listener knows by heart; their order is that of listening. */
  referenceIds: z.array(z.string()).min(1).max(4),
  title: title.optional(),
  stops: z.array(newStop).max(50).default([]),
});
export const walkPatch = z.object({
  title: title.optional(),
  /** Only while nothing is tapped of them. */
  referenceIds: z.array(z.string()).min(1).max(4).optional(),
});

export const walkSummarySchema = z.object({
  id: z.string(),
  songId: z.string(),
  versionId: z.string(),
  versionName: z.string(),
  title: z.string(),
  stops: z.number().int(),
  /** Stops at which something of the song is tapped. */
  heard: z.number().int(),
  createdAt: z.string(),
});
export const walkDetailSchema = walkSummarySchema.omit({ stops: true, heard: true }).extend({
  songTitle: z.string(),
  references: z.array(
    z.object({ versionId: z.string().nullable(), name: z.string(), songTitle: z.string() }),
  ),
  stops: z.array(
    walkStopSchema.extend({
      placeId: z.string().nullable(),
      /** Notes there ever were. */
      notes: z.number().int(),
      /** When the newest note was tapped. */
      lastAt: z.string().nullable(),
      /** What is to be done there next. */
      state: z.enum(['to do', 'references heard', 'begun', 'done']),
    }),
  ),
  /** Links and pages that can still send notes. */
  links: z.number().int(),
});
export const historyNoteSchema = z.object({
  stopId: z.string(),
  /** 'song', or the reference's place in the list; null for what is said of the place. */
  subject: z.union([z.literal('song'), z.number().int()]).nullable(),
  what: z.string(),
  value: z.union([z.number(), z.string()]).nullable(),
  at: z.string(),
  device: z.string(),
  /** Whether a later one has taken its place. */
  counts: z.boolean(),
});
export const walkLinkSchema = z.object({
  /** '/w/…': opens the notebook on this server, and behind an address of Sharing. */
  path: z.string(),
  links: z.array(z.object({ url: z.string(), qrSvg: z.string() })),
});
export const walkLinkRequest = z.object({ hours: z.number().min(0.25).max(720).default(72) }).nullish();
export const walkSharingSchema = z.object({
  on: z.boolean(),
  walkId: z.string().nullable(),
  addresses: z.array(z.string()),
  expiresAt: z.string().nullable(),
});
export const walkSharingRequest = z.object({
  on: z.boolean(),
  hours: z.number().min(0.25).max(72).default(6),
});
export const walkTakenSchema = z.object({
  taken: z.number().int(),
  before: z.number().int(),
  sentences: z.array(z.string()),
});

const area = z.enum(wideBandNames);
const wish = z.object({
  stopId: z.string(),
  area,
  /** Change that this place asks for, dB; that it gets; whether what is left is smaller than was tapped. */
  wantedDb: z.number(),
  heardDb: z.number(),
  answered: z.boolean(),
});
const chain = z.object({
  version: z.number().int(),
  parts: z.array(
    z.object({
      id: z.string(),
      kind: z.string(),
      bypassed: z.boolean(),
      settings: z.record(z.string(), z.unknown()),
    }),
  ),
});
export const refuseQuery = z.object({
  refuse: z
    .string()
    .regex(/^\d{1,2}(,\d{1,2})*$/)
    .optional(),
});
export const correctionSchema = z.object({
  walkId: z.string(),
  songId: z.string(),
  versionId: z.string(),
  title: z.string(),
  /** What is answered, conflicts, compromises; first the whole. */
  sentences: z.array(z.string()),
  /** What an equaliser does not mend: voice, width, loudness, words; with what might. */
  others: z.array(z.object({ stopId: z.string(), text: z.string(), advice: z.string().nullable() })),
  complaints: z.number().int(),
  answered: z.number().int(),
  /** The third octaves: what was solved, and what the bands that are not refused make of it, dB. */
  curve: z.array(z.object({ hertz: z.number(), wantedDb: z.number(), bandsDb: z.number() })),
  bands: z.array(
    z.object({
      /** From 1; named in `refuse`. */
      number: z.number().int(),
      refused: z.boolean(),
      shape: z.enum(['low-shelf', 'bell', 'high-shelf']),
      hertz: z.number(),
      gainDb: z.number(),
      q: z.number(),
      words: z.string(),
      /** Which complaints ask for it. */
      why: z.string(),
    }),
  ),
  conflicts: z.array(
    z.object({
      area,
      tooMuch: z.array(z.string()),
      tooLittle: z.array(z.string()),
      compromiseDb: z.number(),
    }),
  ),
  wishes: z.array(wish),
  /** The bands that are not refused, as a chain (finish/chain.ts). */
  chain,
});

const balance = z.object({
  area,
  /** Loudness of the area against all of it, phon (10 phon: twice as loud); null where nothing is heard. */
  beforePhon: z.number().nullable(),
  afterPhon: z.number().nullable(),
  /** Of the references in the same place. */
  lowPhon: z.number().nullable(),
  highPhon: z.number().nullable(),
  /** Share of the time it plays in which it is heard. */
  heardBefore: z.number().nullable(),
  heardAfter: z.number().nullable(),
});
export const predictionsSchema = z.object({
  places: z.array(
    z.object({
      placeId: z.string(),
      name: z.string(),
      /** Stops of the walk that are this place. */
      stopIds: z.array(z.string()),
      levelDba: z.number(),
      areas: z.array(balance),
      /** How far it lies outside what the references do there, phon: root of the sum of squares. */
      outsideBefore: z.number(),
      outsideAfter: z.number(),
      sentence: z.string(),
    }),
  ),
  sentences: z.array(z.string()),
});

export type NewStop = z.input<typeof newStop>;
export type StopPatch = z.input<typeof stopPatch>;
export type NewWalk = z.input<typeof newWalk>;
export type WalkPatch = z.input<typeof walkPatch>;
export type WalkSummary = z.infer<typeof walkSummarySchema>;
export type WalkDetail = z.infer<typeof walkDetailSchema>;
export type HistoryNote = z.infer<typeof historyNoteSchema>;
export type WalkLink = z.infer<typeof walkLinkSchema>;
export type WalkSharing = z.infer<typeof walkSharingSchema>;
export type WalkTaken = z.infer<typeof walkTakenSchema>;
export type Correction = z.infer<typeof correctionSchema>;
export type Predictions = z.infer<typeof predictionsSchema>;
