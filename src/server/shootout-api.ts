import { z } from 'zod';
import { briefSchema } from '../judge/brief-words.ts';
import { changeReportSchema } from '../judge/change-report.ts';
import { resultsSchema, shootoutKind, shootoutSchema } from '../shootout/shootout-shapes.ts';

/**
 * The shoot-out in the HTTP interface.
 *
 * The host's side, on loopback only. It never tells what is behind a round or a letter before the reveal: whoever sits
 * here may be a listener too.
 *
 * GET    /api/shootouts?songId                      { shootouts: ShootoutSummary[] }, newest first
 * POST   /api/shootouts                             NewShootout -> 201 ShootoutDetail
 * GET    /api/shootouts/:id                         ShootoutDetail
 * PATCH  /api/shootouts/:id                         ShootoutPatch -> ShootoutDetail (draft only, but for the title)
 * DELETE /api/shootouts/:id                         204; POST /api/shootouts/:id/restore -> ShootoutDetail (for a day)
 *
 * GET    /api/shootouts/:id/pack                    PackCheck: is the mix fit to be sent out
 * POST   /api/shootouts/:id/pack                    PackRequest -> 201 Written: a new folder with the mix, brief.txt and
 *                                                   SHA256SUMS. Folders are named by the tokens of GET /api/watch/folders
 * POST   /api/shootouts/:id/entries?name&maker&yours    body: the bytes of a file that came back -> 201 Entry;
 *                                                   422 MASTER_REFUSED with the reason (takes as long as comparing does)
 * POST   /api/shootouts/:id/entries/versions        { versionId, maker, yours? } -> 201 Entry: one that is on the bench
 * PATCH  /api/shootouts/:id/entries/:entryId        { maker?, yours? } -> Entry
 * DELETE /api/shootouts/:id/entries/:entryId        204 (draft only)
 * GET    /api/shootouts/written/:key/*              one file of what was written without naming a folder, as a download
 *
 * POST   /api/shootouts/:id/plan                    Size -> Plan: how long it takes and what it can tell apart (1 to 20 s
 *                                                   the first time)
 * POST   /api/shootouts/:id/open                    Size -> ShootoutDetail: the masters are made fair, rounds are drawn;
 *                                                   from here on entries, sections and question stay as they are
 *
 * POST   /api/shootouts/:id/listeners               NewListener -> 201 Invitation
 * POST   /api/shootouts/:id/listeners/:listenerId/link   { hours? } -> Invitation: a new link; the old one is dead
 * PATCH  /api/shootouts/:id/listeners/:listenerId   { name } -> Listener
 * DELETE /api/shootouts/:id/listeners/:listenerId   204: the link is dead; votes stay. One without votes is gone, and the
 *                                                   rounds go to who comes next
 * POST   /api/shootouts/:id/remote                  RemoteRequest -> 201 Written: a folder for a listener far away
 * POST   /api/shootouts/:id/votes                   a VoteFile (application/json) -> VotesTaken
 *
 * GET    /api/shootouts/sharing                     Sharing
 * PUT    /api/shootouts/:id/sharing                 { on, hours? } -> Sharing: one shoot-out at a time
 *
 * GET    /api/shootouts/:id/results                 ShootoutResults
 * POST   /api/shootouts/:id/reveal                  ShootoutDetail: ends voting; cannot be taken back
 * GET    /api/shootouts/:id/lessons?entry&against   Lessons (409 SHOOTOUT_STATE before the reveal)
 *
 * GET /api/events tells 'shootout' ({ shootoutId }) whenever one of these answers has changed: an entry, a vote, a
 * listener, the state, sharing.
 *
 * The voter's side: the same routes on the shared address and on loopback (listeners `here`). The shapes are those of
 * src/shootout/voter-shapes.ts, and nothing else is ever sent. Errors are as everywhere, { error: { code, message } }.
 *
 * GET  /v/:token                      the voter page, one HTML file with all that it needs; the same for every token
 * GET  /v/:token/session              VoterSession (strict); after the reveal state 'closed', next null
 * POST /v/:token/answers              VoterAnswer, header Idempotency-Key (16 to 64 of A-Z a-z 0-9 _ -, made once for an
 *                                     answer and sent again with every try) -> 200 VoterSession. Sent again with the same
 *                                     key: the same 200. With another: 409 VOTE_REFUSED
 * GET  /v/:token/sounds/:handle       audio/wav, 24 bits; sounds of one round are equal in size, length and level
 *
 * 403 VOTER_REFUSED (no such link, or run out), 409 VOTE_REFUSED (double, late, not the round that is next, not an answer
 * to that kind of round), 429 TOO_MANY_REQUESTS with Retry-After (s): all with a sentence for the voter.
 *
 * A folder for a listener far away holds `vote.html`, which is the same voter page with a
 * `<script type="application/json" id="everyroom-round">` VoterFolder `</script>` in it, and `sounds/`. A page from disk may
 * not fetch its neighbours: they are played with <audio>. Its answers go out as a VoteFile, a download.
 * In the page that is served the script tag is not there.
 */
const span = z.object({ startSeconds: z.number(), endSeconds: z.number() });
const title = z.string().trim().min(1).max(200);
const maker = z.string().trim().min(1).max(200);

export const newShootout = z.object({
  mixVersionId: z.string(),
  /** The song's title when left out. */
  title: title.optional(),
  kind: shootoutKind.default('preference'),
  question: shootoutSchema.shape.question.default('taste'),
  /** In the mix's time. When left out: up to three that stand for the song, the loudest among them, at most 20 s each. */
  sections: z.array(span).min(1).max(12).optional(),
});
export const shootoutPatch = z.object({
  title: title.optional(),
  kind: shootoutKind.optional(),
  question: shootoutSchema.shape.question.optional(),
  sections: z.array(span).min(1).max(12).optional(),
});
export const sizeSchema = z.object({
  /** Most listeners that there can be. */
  listeners: z.number().int().min(1).max(100).default(8),
  /** Preference: most rounds a listener (as many as fit 20 minutes when left out); ABX: trials, 16 when left out. */
  rounds: z.number().int().min(1).max(60).optional(),
});

export const entrySchema = z.object({
  id: z.string(),
  versionId: z.string(),
  /** What the file is called on the bench. */
  versionName: z.string(),
  maker: z.string(),
  /** The host's own: what the others are compared with afterwards. At most one. */
  yours: z.boolean(),
  notes: z.array(z.string()),
});
export const uploadedEntryQuery = z.object({
  name: z.string().max(4096).default('unnamed'),
  maker,
  yours: z.stringbool().default(false),
});
export const versionEntry = z.object({ versionId: z.string(), maker, yours: z.boolean().default(false) });
export const entryPatch = z.object({ maker: maker.optional(), yours: z.boolean().optional() });
export const shootoutListenerSchema = z.object({
  id: z.string(),
  name: z.string(),
  where: z.enum(['here', 'network', 'folder']),
  rounds: z.number().int(),
  answered: z.number().int(),
  /** Of the link; null for folders, and where it was withdrawn. */
  linkExpiresAt: z.string().nullable(),
});
export const shootoutSummarySchema = z.object({
  id: z.string(),
  songId: z.string(),
  songTitle: z.string(),
  title: z.string(),
  kind: shootoutKind,
  question: shootoutSchema.shape.question,
  state: shootoutSchema.shape.state,
  entries: z.number().int(),
  listeners: z.number().int(),
  votes: z.number().int(),
  createdAt: z.string(),
  revealedAt: z.string().nullable(),
});
export const shootoutDetailSchema = shootoutSummarySchema.extend({
  mixVersionId: z.string(),
  mixName: z.string(),
  sections: z.array(span.extend({ label: z.string() })),
  entries: z.array(entrySchema),
  listeners: z.array(shootoutListenerSchema),
  /** null in a draft. */
  size: z
    .object({
      listeners: z.number().int(),
      /** Of one listener. */
      rounds: z.number().int(),
      secondsEach: z.number(),
    })
    .nullable(),
  /** What was put right to make it fair, and what could not be; plain sentences. Empty in a draft. */
  fairNotes: z.array(z.string()),
  /** Why it cannot be opened yet; null when it can, or was. */
  missing: z.string().nullable(),
});

/** Of GET /api/watch/folders. When left out, the files are kept for an hour to be fetched one by one. */
const folderToken = z.string().optional();

export const packCheckSchema = z.object({
  /** Nothing to tell the makers, or only what is good to know. Never forbids anything. */
  fit: z.boolean(),
  /** 'Peaks reach -0.1 dBTP; leave 3 dB ...' worst first; empty when all is well. */
  findings: z.array(
    z.object({ severity: z.enum(['mend', 'look', 'fine']), title: z.string(), text: z.string() }),
  ),
});
export const packRequest = z.object({ folder: folderToken, brief: briefSchema.prefault({}) });
export const writtenSchema = z.object({
  /** Where it lies; null when no folder was named: then each file is at `/api/shootouts/written/${key}/${name}`. */
  path: z.string().nullable(),
  key: z.string().nullable(),
  /** `name` may lead into a folder: 'sounds/….wav'. */
  files: z.array(z.object({ name: z.string(), bytes: z.number() })),
});

export const planSchema = z.object({
  listeners: z.number().int(),
  rounds: z.number().int(),
  secondsEach: z.number(),
  /** More than 20 minutes a listener. */
  tooLong: z.boolean(),
  /** What it can tell apart; then whatever else there is to say of the plan. */
  sentences: z.array(z.string()),
});

export const newListener = z.object({
  name: z.string().trim().min(1).max(100),
  where: z.enum(['here', 'network']),
  hours: z.number().min(0.25).max(168).default(24),
});
export const newLink = newListener.pick({ hours: true });
export const invitationSchema = z.object({
  listener: shootoutListenerSchema,
  /** '/v/…': open it on this server (`here`), or behind an address of Sharing. Told once: only its hash is kept. */
  path: z.string(),
  /** One for each address of Sharing; empty while sharing is off (ask for a new link then), and for `here`. */
  links: z.array(z.object({ url: z.string(), qrSvg: z.string() })),
});
export const sharingSchema = z.object({
  on: z.boolean(),
  shootoutId: z.string().nullable(),
  /** 'http://192.168.1.20:4871' */
  addresses: z.array(z.string()),
  expiresAt: z.string().nullable(),
});
export const sharingRequest = z.object({ on: z.boolean(), hours: z.number().min(0.25).max(72).default(6) });

export const remoteRequest = z.object({ name: z.string().trim().min(1).max(100), folder: folderToken });
export const remoteWrittenSchema = writtenSchema.extend({ listener: shootoutListenerSchema });
export const votesTakenSchema = z.object({
  listener: shootoutListenerSchema,
  taken: z.number().int(),
  /** Rounds that had an answer already, which stays. */
  before: z.number().int(),
  sentences: z.array(z.string()),
});

export const shootoutResultsSchema = z.object({
  state: shootoutSchema.shape.state,
  votes: z.number().int(),
  /** Answers that all listeners so far could give. */
  possible: z.number().int(),
  /** Before the reveal, ids of entries are single letters in an order that tells nothing; after it, the ids of entries. */
  results: resultsSchema,
  names: z.array(z.object({ id: z.string(), name: z.string() })),
  listenerNames: z.array(z.object({ id: z.string(), name: z.string() })),
  sentences: z.array(z.string()),
  /** After the reveal, what each listener heard each entry called; empty before. */
  letters: z.array(
    z.object({
      listenerId: z.string(),
      letters: z.array(z.object({ entryId: z.string(), letter: z.string() })),
    }),
  ),
});
export const lessonsSchema = z.object({
  entryId: z.string(),
  againstId: z.string(),
  /** Names of makers. */
  name: z.string(),
  againstName: z.string(),
  /** `before` is `against`, `after` the entry. */
  change: changeReportSchema,
  /** What its maker did, one thing each, what weighs most first; with the place where it is heard best. */
  lessons: z.array(
    z.object({
      what: z.enum(['gain', 'tone', 'dynamics', 'width', 'low-end', 'ceiling']),
      sentence: z.string(),
      /** To loop on the desk, in the time of `against`; null where no place is better than another. */
      place: span.nullable(),
    }),
  ),
  /** A chain to begin from that moves `against` toward the entry (src/finish/chain.ts), and its parts in words; no part where nothing is worth one. */
  chain: z.object({
    version: z.number().int(),
    parts: z.array(
      z.object({
        id: z.string(),
        kind: z.string(),
        bypassed: z.boolean(),
        settings: z.record(z.string(), z.unknown()),
      }),
    ),
  }),
  chainSentences: z.array(z.string()),
  /** Versions to loop between: [against, entry]. */
  versionIds: z.tuple([z.string(), z.string()]),
});

export type ShootoutSummary = z.infer<typeof shootoutSummarySchema>;
export type ShootoutDetail = z.infer<typeof shootoutDetailSchema>;
export type ShootoutEntry = z.infer<typeof entrySchema>;
export type VersionEntry = z.input<typeof versionEntry>;
export type EntryPatch = z.input<typeof entryPatch>;
export type ShootoutListener = z.infer<typeof shootoutListenerSchema>;
export type NewShootout = z.input<typeof newShootout>;
export type ShootoutPatch = z.input<typeof shootoutPatch>;
export type ShootoutSize = z.input<typeof sizeSchema>;
export type PackCheck = z.infer<typeof packCheckSchema>;
export type PackRequest = z.input<typeof packRequest>;
export type Written = z.infer<typeof writtenSchema>;
export type Plan = z.infer<typeof planSchema>;
export type NewListener = z.input<typeof newListener>;
export type Invitation = z.infer<typeof invitationSchema>;
export type Sharing = z.infer<typeof sharingSchema>;
export type RemoteRequest = z.input<typeof remoteRequest>;
export type RemoteWritten = z.infer<typeof remoteWrittenSchema>;
export type VotesTaken = z.infer<typeof votesTakenSchema>;
export type ShootoutResults = z.infer<typeof shootoutResultsSchema>;
export type Lessons = z.infer<typeof lessonsSchema>;
