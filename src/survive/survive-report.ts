import { z } from 'zod';

/**
 * What lossy coding does to one file: the one shape that `survive --json` prints, the API serves and the page shows.
 * Levels are rounded only when shown. null stands where a figure does not exist (silence, mono, too short), never an
 * infinity.
 */
const figure = z.number().nullable();
const span = z.object({ startSeconds: z.number(), endSeconds: z.number() });
const over = span.extend({ channel: z.number().int(), peakDbtp: z.number() });

/** What a player that holds 16-bit samples would cut off. A sample counts when its |value| is above 32767.5/32768. */
export const playerClipSchema = z.object({
  /** Samples cut, all channels. */
  samples: z.number().int(),
  /** Runs of cut samples, a channel at a time. */
  runs: z.number().int(),
  /** Time during which at least one channel is cut, added up, seconds. */
  seconds: z.number(),
  /** The longest run, seconds. */
  longestSeconds: z.number(),
});

/** The decoded sound after a service has brought the song to its target. */
export const atTargetSchema = z.object({
  targetLufs: z.number(),
  /** Id of the target's source in docs/sources.md. */
  source: z.string(),
  /** Target minus the song's integrated loudness, dB: negative when it is turned down; null when it has none. */
  levelChangeDb: figure,
  /** True peak of the decoded sound after that change, dBTP. */
  truePeakDbtp: figure,
  /** Whether nothing is left to clip after the change: the true peak is at or below full scale. */
  cannotClip: z.boolean(),
  clip: playerClipSchema,
});

/** Noise that the coding added: decoded minus sent, aligned. */
export const codingNoiseSchema = z.object({
  /** Noise power over the sound's power, dB (−20: a hundredth); null for silence. */
  noiseToSoundDb: figure,
  bands: z.array(
    z.object({
      lowHz: z.number(),
      highHz: z.number(),
      /** Power of the noise in the band, dBFS (a full-scale sine reads −3.01); null: none. */
      noiseDbfs: figure,
      /** Noise over the sound in the same band, dB; about 0 where the band was taken away; null where the sound has nothing. */
      noiseToSoundDb: figure,
    }),
  ),
});

/** How high the sound reaches before and after, Hz. */
export const bandwidthSchema = z.object({
  beforeHz: figure,
  afterHz: figure,
  /** Before minus after; 0 when nothing is lost. */
  lostHz: figure,
});

/** What happened between the channels; null for mono. */
export const stereoDamageSchema = z.object({
  /** Correlation of left and right over the whole song, −1..1. */
  correlationBefore: figure,
  correlationAfter: figure,
  /** Power of the side signal, after over before, dB: negative when the song got narrower. */
  sideChangeDb: figure,
  /** The band in which the side signal changed most, among those that carry any; null when none does. */
  worstBand: z.object({ lowHz: z.number(), highHz: z.number(), sideChangeDb: z.number() }).nullable(),
});

/** Noise that comes before a sharp onset, where nothing hides it. */
export const preEchoSchema = z.object({
  /** Onsets looked at. */
  onsets: z.number().int(),
  /** Of these, how many have more noise than sound shortly before them. */
  smeared: z.number().int(),
  /** Noise over sound before the worst of them, dB, and when; null when there is no onset. */
  worstDb: figure,
  worstAtSeconds: figure,
});

/** One format, or two in series. */
export const formatSurvivalSchema = z.object({
  /** Stable id: 'aac-128', 'aac-256+sbc-328'. */
  formatId: z.string(),
  /** As shown: 'AAC 128', 'AAC 256 → SBC 328'. */
  format: z.string(),
  encoder: z.string(),
  settings: z.string(),
  /** To which side the figure leans, a plain sentence; empty where nothing is known of a lean. */
  leaning: z.string(),
  nominalKbps: z.number(),
  actualKbps: z.number(),
  /** Samples at the coded rate; of two in series the sum. */
  delaySamples: z.number(),
  codedRateHz: z.number().int(),
  /** Pieces the sound was coded in: 1 for songs, more for long files. */
  pieces: z.number().int(),
  truePeakDbtp: figure,
  samplePeakDbfs: figure,
  growthDb: figure,
  overs: z.number().int(),
  /** The highest, in order of time, at most 200. */
  overSpans: z.array(over),
  /** Where the decoded waveform is highest: up to 8 separate moments, the highest first, also when none is an over. */
  peakMoments: z.array(z.object({ atSeconds: z.number(), peakDbtp: z.number() })),
  clip: playerClipSchema,
  atTargets: z.array(atTargetSchema),
  noise: codingNoiseSchema,
  bandwidth: bandwidthSchema,
  stereo: stereoDamageSchema.nullable(),
  preEcho: preEchoSchema,
  /** One or two plain sentences on this format. */
  sentence: z.string(),
});

export const formatFailureSchema = z.object({
  formatId: z.string(),
  format: z.string(),
  code: z.string(),
  reason: z.string(),
});

/** The quick answer, from the passages likeliest to overshoot in the coarsest format of each codec. */
export const surviveEstimateSchema = z.object({
  passages: z.array(span),
  /** Share of the song that was coded, 0..1. 1: the song is so short that this is no estimate. */
  share: z.number(),
  formats: z.array(
    z.object({
      formatId: z.string(),
      format: z.string(),
      /** What the passages gave, dBTP; the whole song is expected between low and high. null: silence. */
      truePeakDbtp: figure,
      lowDbtp: figure,
      highDbtp: figure,
    }),
  ),
  failed: z.array(formatFailureSchema),
  /** Least trim that these figures ask for, dB (0 or more), with its bounds. */
  trimDb: z.number(),
  lowTrimDb: z.number(),
  highTrimDb: z.number(),
  sentence: z.string(),
});

/** One real encode of the search. */
const searchPoint = z.object({ trimDb: z.number(), truePeakDbtp: figure });

export const ceilingFormatSchema = z.object({
  formatId: z.string(),
  format: z.string(),
  /** Least trim found after which this format alone stays at or under the limit, dB, 0 or more. */
  trimDb: z.number(),
  /** The file's true peak after that trim, dBTP. */
  ceilingDbtp: z.number(),
  /** True peak decoded at that trim. */
  truePeakDbtp: figure,
  /** Every encode made for it, in order, the last encode at the answer's trim included. */
  points: z.array(searchPoint),
  encodes: z.number().int(),
  /** By how much the decoded peak, the trim undone, jumped between the levels that were coded, dB; null for one level. */
  jumpDb: figure,
  /** True peak decoded at the answer's trim (the same for all formats), by a last encode; null for silence or when it was not made. */
  verifiedDbtp: figure,
});

/** The least trim with which every chosen format stays at or under the limit. */
export const ceilingSchema = z.object({
  /** Highest decoded level allowed, dBFS of samples and dBTP alike (samples never pass the true peak). */
  limitDbfs: z.number(),
  /** dB to turn the file down by, 0 or more; the trimmed file has 24 bits and no dither. */
  trimDb: z.number(),
  /** True peak of the file after the trim, dBTP; null for silence. */
  ceilingDbtp: figure,
  /**
   * A trim with something in reserve: what the highest decoded peak of any level that was coded, the trim undone, would
   * ask for. Not proven like trimDb, but it also covers the jumps that were seen; never less than trimDb.
   */
  carefulTrimDb: z.number(),
  carefulCeilingDbtp: figure,
  /** Shown name of the format that asks for the most; null when no trim is needed. */
  decidedBy: z.string().nullable(),
  /** Real encodes made, all formats, those of the plain round trips included. */
  encodes: z.number().int(),
  /** Whether a last encode of every format at exactly this trim stayed at or under the limit. */
  verified: z.boolean(),
  formats: z.array(ceilingFormatSchema),
  failed: z.array(formatFailureSchema),
  /** 'A ceiling of −1.4 dBTP survives everything you chose.' and the cheaper choices; plain sentences. */
  answers: z.array(z.string()),
});

/** A moment that decides: the highest peaks after decoding, near ones taken together. */
export const momentSchema = span.extend({
  peakDbtp: z.number(),
  /** Shown names of the formats that pass the limit there, most first. */
  formats: z.array(z.string()),
});

export const surviveReportSchema = z.object({
  file: z.object({
    name: z.string(),
    sha256: z.string(),
    container: z.string(),
    codec: z.string(),
    sampleRate: z.number().int(),
    channels: z.number().int(),
    frames: z.number().int(),
    seconds: z.number(),
  }),
  limitDbtp: z.number(),
  before: z.object({
    integratedLufs: figure,
    truePeakDbtp: figure,
    samplePeakDbfs: figure,
    overs: z.number().int(),
  }),
  estimate: surviveEstimateSchema.nullable(),
  formats: z.array(formatSurvivalSchema),
  failed: z.array(formatFailureSchema),
  moments: z.array(momentSchema),
  /** null when it was not asked for. */
  ceiling: ceilingSchema.nullable(),
  /** One plain sentence: the verdict. */
  headline: z.string(),
});

/** A file that could not be read, beside the reports of those that could. */
export const surviveRunSchema = z.object({
  files: z.array(surviveReportSchema),
  failed: z.array(z.object({ name: z.string(), code: z.string(), message: z.string() })),
});

export type PlayerClip = z.infer<typeof playerClipSchema>;
export type AtTarget = z.infer<typeof atTargetSchema>;
export type CodingNoise = z.infer<typeof codingNoiseSchema>;
export type Bandwidth = z.infer<typeof bandwidthSchema>;
export type StereoDamage = z.infer<typeof stereoDamageSchema>;
export type PreEcho = z.infer<typeof preEchoSchema>;
export type FormatSurvival = z.infer<typeof formatSurvivalSchema>;
export type FormatFailure = z.infer<typeof formatFailureSchema>;
export type SurviveEstimate = z.infer<typeof surviveEstimateSchema>;
export type CeilingFormat = z.infer<typeof ceilingFormatSchema>;
export type Ceiling = z.infer<typeof ceilingSchema>;
export type Moment = z.infer<typeof momentSchema>;
export type SurviveReport = z.infer<typeof surviveReportSchema>;
export type SurviveRun = z.infer<typeof surviveRunSchema>;
