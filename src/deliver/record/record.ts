import { z } from 'zod';
import { CodedError } from '../../audio/coded-error.ts';
import { type Chain, readChain } from '../../finish/chain.ts';
import { deliveryProfileIds } from '../profiles/profiles.ts';
import { plainBarcode, plainIsrc } from './check-digits.ts';

/** The version of the form that records are kept in. */
export const recordVersion = 1;
/** IEC 60908 numbers tracks from 1 to 99 (from memory); a longer record would be several. */
const mostSongs = 99;

const text = z.string().trim().min(1).max(200);
const optionalText = z.string().trim().max(200).default('');
const seconds = (most: number) => z.number().min(0).max(most);
const fadeShapes = ['linear', 'cosine', 'equal-power'] as const;

/** Where sound comes from: a file beside the record (a path as the person wrote it), or a version on the bench. */
export const soundSource = z.union([
  z.strictObject({ file: z.string().min(1).max(4096) }),
  z.strictObject({ versionId: z.string().min(1).max(100) }),
]);

const isrc = z
  .string()
  .trim()
  .transform((value, context) => {
    const plain = value === '' ? '' : plainIsrc(value);
    if (plain !== null) return plain;
    context.addIssue({
      code: 'custom',
      message: `“${value}” is no ISRC; one is two letters, three letters or digits and seven digits`,
    });
    return z.NEVER;
  })
  .default('');
const barcode = z
  .string()
  .trim()
  .transform((value, context) => {
    const plain = value === '' ? '' : plainBarcode(value);
    if (plain !== null) return plain;
    context.addIssue({
      code: 'custom',
      message: `“${value}” is no UPC or EAN: it has 12 or 13 digits, and the last one must fit the others`,
    });
    return z.NEVER;
  })
  .default('');
const language = z
  .string()
  .trim()
  .regex(/^([a-z]{2,3}(-[A-Za-z0-9]{2,8})*)?$/, 'a language is a code such as “en”, “pt-BR” or “zxx” (none)')
  .default('');
const chain = z.unknown().transform((data, context): Chain => {
  try {
    return readChain(data);
  } catch (error) {
    context.addIssue({ code: 'custom', message: error instanceof Error ? error.message : String(error) });
    return z.NEVER;
  }
});

export const recordSongSchema = z.strictObject({
  title: text,
  /** 'Acoustic', 'Radio edit': in brackets behind the title. */
  subtitle: optionalText,
  /** The record's artist when left out. */
  artist: optionalText,
  /** Who wrote it: words and music. */
  writers: z.array(text).max(50).default([]),
  isrc,
  /** The record's when left out. */
  language,
  explicit: z.enum(['no', 'yes', 'clean']).default('no'),
  source: soundSource,
  /** What it goes through before anything else; a version as it is when left out. */
  chain: chain.nullable().default(null),
  /** By how much it is turned up or down on this record, dB. */
  gainDb: z.number().min(-24).max(24).default(0),
  /** Taken off the beginning and the end of the file. */
  cutHeadSeconds: seconds(3600).default(0),
  cutTailSeconds: seconds(3600).default(0),
  fadeInSeconds: seconds(60).default(0),
  fadeInShape: z.enum(fadeShapes).default('cosine'),
  fadeOutSeconds: seconds(60).default(0),
  fadeOutShape: z.enum(fadeShapes).default('cosine'),
  /**
   * How it follows the song before it. gap: after silence. joined: the first sample stands behind the last one of the song
   * before. crossfade: the two overlap.
   */
  join: z.enum(['gap', 'joined', 'crossfade']).default('gap'),
  gapSeconds: seconds(60).default(2),
  crossfadeSeconds: seconds(60).default(4),
  /** Side of a vinyl pre-master; by length where no song says one. */
  side: z
    .string()
    .regex(/^[A-Z]?$/, 'a side is one letter from A to Z')
    .default(''),
  /** Who approved which bytes, and when: other bytes are not approved. */
  approved: z
    .strictObject({
      sha256: z.string().regex(/^[0-9a-f]{64}$/, 'a SHA-256 is 64 hex digits'),
      by: text,
      at: text,
    })
    .nullable()
    .default(null),
  instrumental: soundSource.nullable().default(null),
  clean: soundSource.nullable().default(null),
  stems: z
    .array(z.strictObject({ name: text, source: soundSource }))
    .max(64)
    .default([]),
});

export const recordSchema = z.strictObject({
  version: z.literal(recordVersion),
  kind: z.enum(['single', 'ep', 'album']),
  title: text,
  artist: text,
  /** UPC or EAN. */
  barcode,
  catalogNumber: optionalText,
  label: optionalText,
  genre: optionalText,
  /** Of the words; 'zxx' for none. */
  language,
  copyright: optionalText,
  /** Written into files instead of today's date, so that they stay the same from run to run. */
  releaseDate: z
    .string()
    .regex(/^(\d{4}-\d{2}-\d{2})?$/, 'a date is written as 2026-11-25')
    .default(''),
  /** A picture file beside the record, JPEG or PNG. */
  artwork: z
    .strictObject({ file: z.string().min(1).max(4096) })
    .nullable()
    .default(null),
  /** How files are named: {track}, {title}, {artist}, {album}, {isrc}, {side}. */
  naming: z.string().trim().min(1).max(200).default('{track} {title}'),
  /** Of the dither: the same seed gives the same bytes. */
  seed: z.int().min(0).max(4294967295).default(1),
  profiles: z.array(z.enum(deliveryProfileIds)).min(1).default(['hi-res']),
  songs: z.array(recordSongSchema).min(1).max(mostSongs),
  /** What is let pass although it does not meet its contract. */
  accepted: z
    .array(z.strictObject({ check: text, by: text, why: z.string().trim().max(1000).default('') }))
    .max(500)
    .default([]),
});

/** A record as data: songs in order, how they meet, and the words that go with them. */
export type ReleaseRecord = z.infer<typeof recordSchema>;
export type RecordSong = z.infer<typeof recordSongSchema>;
export type SoundSource = z.infer<typeof soundSource>;

/** Plain data as a record with all that was left out filled in. Throws RECORD_INVALID with a sentence that names the place. */
export function readRecord(data: unknown): ReleaseRecord {
  if (typeof data === 'object' && data !== null && 'version' in data && data.version !== recordVersion)
    throw new CodedError(
      'RECORD_INVALID',
      `A record of version ${String(data.version)} cannot be read here; this Everyroom knows version ${recordVersion}.`,
    );
  const read = recordSchema.safeParse(data);
  if (read.success) return read.data;
  const { path, message } = read.error.issues[0];
  throw new CodedError('RECORD_INVALID', `The record is not right${placeIn(path)}: ${message}.`);
}

function placeIn(path: readonly PropertyKey[]): string {
  if (path.length === 0) return '';
  const [first, second, ...rest] = path;
  if (first === 'songs' && typeof second === 'number')
    return `, song ${second + 1}${rest.length > 0 ? `, “${rest.map(String).join('.')}”` : ''}`;
  return `, “${path.map(String).join('.')}”`;
}
