import type { Bext } from '../../audio/bext.ts';
import type { SoundInfo, SoundTags } from '../../audio/sound-info.ts';
import type { SourceId } from '../../judge/sources.ts';
import { signed, withUnit } from '../../judge/wording.ts';
import type { DeliveryProfile } from '../profiles/profile.ts';
import type { FileReading } from './file-meter.ts';

/** What one file of a delivery must be: its part of the profile's contract, to the sample. */
export interface FileContract {
  readonly profile: Pick<
    DeliveryProfile,
    'container' | 'bits' | 'lossy' | 'ceiling' | 'loudness' | 'survive'
  >;
  readonly sampleRate: number;
  readonly frames: number;
  /** As they are read back, under common names. */
  readonly tags: SoundTags;
  readonly bext: Bext | null;
  /** Whether the words were shortened with dither; false where the samples are those of the source. */
  readonly dithered: boolean;
  readonly artwork: boolean;
}

/** What was put down on the way out, before the file was closed. */
export interface WrittenSound {
  /** SHA-256 of all samples as whole numbers, channel by channel; null for lossy files. */
  readonly digest: string | null;
  /** Mean power of what the shortening added, in steps squared; 0 where nothing was shortened. */
  readonly errorPower: number;
  readonly reading: FileReading;
}

/** What was found when the file was read back from the disk. */
export interface FoundFile {
  readonly bytes: number;
  readonly sha256: string;
  readonly info: SoundInfo;
  readonly tags: SoundTags;
  readonly artworkBytes: number;
  readonly bext: (Bext & { readonly version: number }) | null;
  readonly digest: string | null;
  readonly reading: FileReading;
}

/** A lossy coding that the file was really put through. */
export interface SurvivedCoding {
  readonly format: string;
  readonly truePeakDbtp: number | null;
}

/** One point of a contract, and whether it is met. */
export interface Check {
  /** Stable, kebab-case; with the file's name behind '@' it is what an exception names. */
  readonly id: string;
  readonly what: string;
  readonly passed: boolean;
  readonly wanted: string;
  readonly found: string;
  readonly source: SourceId | null;
}

/** Power of the error of triangular dither of 2 steps peak to peak, rounding included: 1/4 step squared (src/finish/dither.ts). */
const ditherPower = 0.25;
/** Longest silence before a song that nobody asked for (heuristic). */
const mostHeadSeconds = 3;
/** A lossy file may be longer by a frame of its coding where players are not told what to leave out. */
const lossyFrameSamples = 1152;
/** Loudness is held in hundredths by bext and by tags; a level that is read again may round the other way. */
const hundredths = 0.011;

const codecOf = { WAV: 'PCM', AIFF: 'PCM', FLAC: 'FLAC', MP3: 'MP3', MP4: 'AAC' } as const;

/** Every point of a file's contract against what was read back. */
export function heldAgainst(
  contract: FileContract,
  written: WrittenSound,
  found: FoundFile,
  coded: readonly SurvivedCoding[],
): Check[] {
  const { profile, sampleRate, frames } = contract;
  const { info, reading } = found;
  const shape = (container: string, codec: string, rate: number, bits: number | null, channels: number) =>
    [container, codec, `${rate} Hz`, ...(bits === null ? [] : [`${bits} bit`]), `${channels} channels`].join(
      ', ',
    );
  const wantedShape = shape(profile.container, codecOf[profile.container], sampleRate, profile.bits, 2);
  // Larger than 4 GiB, a WAV file calls itself RF64.
  const container = info.container === 'RF64' ? 'WAV' : info.container;
  const foundShape = shape(container, info.codec, info.sampleRate, info.bitDepth, info.channels);
  const checks: Check[] = [
    check('format', 'Form', wantedShape, foundShape, foundShape === wantedShape),
    check(
      'length',
      'Length',
      `${frames} samples`,
      `${reading.frames} samples`,
      profile.lossy === null
        ? reading.frames === frames
        : Math.abs(reading.frames - frames) <= 2 * lossyFrameSamples,
    ),
  ];
  if (profile.lossy === null) {
    checks.push(
      check(
        'samples',
        'Every sample as it was written',
        'the same',
        found.digest === written.digest ? 'the same' : 'others',
        found.digest !== null && found.digest === written.digest,
      ),
      contract.dithered
        ? check(
            'dither',
            'Dither',
            `power of the error near ${ditherPower} step²`,
            `${written.errorPower.toFixed(3)} step²`,
            Math.abs(written.errorPower / ditherPower - 1) < 0.1,
          )
        : check(
            'untouched',
            'No sample changed on the way',
            'no error',
            `${written.errorPower.toFixed(3)} step²`,
            written.errorPower === 0,
          ),
    );
  }
  const level = (value: number | null, unit: string) =>
    value === null ? 'silence' : withUnit(value, unit, 2);
  if (profile.ceiling) {
    const { dbtp, slackDb, source } = profile.ceiling;
    const peak = reading.truePeakDbtp;
    checks.push({
      ...check(
        'true-peak',
        'True peak',
        `at most ${withUnit(dbtp, 'dBTP')}`,
        level(peak, 'dBTP'),
        peak === null || peak <= dbtp + slackOf(profile, slackDb),
      ),
      source,
    });
  }
  if (profile.loudness) {
    const { lufs, toleranceLu, source } = profile.loudness;
    const own = reading.integratedLufs;
    checks.push({
      ...check(
        'loudness',
        'Loudness',
        `${withUnit(lufs, 'LUFS')} within ${withUnit(toleranceLu, 'LU')}`,
        level(own, 'LUFS'),
        own !== null && Math.abs(own - lufs) <= toleranceLu,
      ),
      source,
    });
  }
  for (const { format, truePeakDbtp } of coded) {
    const limit = profile.survive?.limitDbtp ?? 0;
    checks.push({
      ...check(
        'decoded-peak',
        `True peak after ${format}`,
        `at most ${withUnit(limit, 'dBTP')}`,
        truePeakDbtp === null ? 'silence' : signed(truePeakDbtp, 'dBTP', 2),
        truePeakDbtp === null || truePeakDbtp <= limit,
      ),
      source: 'full-scale',
    });
  }
  const seconds = frames / sampleRate;
  checks.push(
    check(
      'sound',
      'There is sound',
      'not silent',
      reading.silentHeadSeconds >= seconds ? 'silence' : 'sound',
      reading.silentHeadSeconds < seconds,
    ),
    check(
      'head',
      'Silence before the sound',
      `under ${mostHeadSeconds} s`,
      withUnit(reading.silentHeadSeconds, 's', 2),
      reading.silentHeadSeconds < mostHeadSeconds,
    ),
    ...tagChecks(contract, found),
    ...bextChecks(contract, found),
  );
  return checks;
}

/** Coding adds to peaks: a lossy file's own decoded peak may pass its ceiling and is still under full scale. */
function slackOf({ lossy, ceiling }: FileContract['profile'], slackDb: number): number {
  return lossy === null ? slackDb : Math.max(slackDb, -(ceiling?.dbtp ?? 0));
}

function tagChecks({ tags, artwork }: FileContract, found: FoundFile): Check[] {
  const wrong = Object.keys(tags).filter((name) => !sameTag(name, tags[name], found.tags[name]));
  return [
    check(
      'tags',
      'Tags',
      `${Object.keys(tags).length} as the record has them`,
      wrong.length === 0 ? 'all of them' : `wrong or missing: ${wrong.join(', ')}`,
      wrong.length === 0,
    ),
    ...(artwork
      ? [
          check(
            'artwork',
            'Artwork',
            'in the file',
            found.artworkBytes > 0 ? `${found.artworkBytes} bytes` : 'none',
            found.artworkBytes > 0,
          ),
        ]
      : []),
  ];
}

/** ID3v2.3 holds the year of a date. */
function sameTag(name: string, wanted: string, found: string | undefined): boolean {
  return found === wanted || (name === 'date' && found !== undefined && found === wanted.slice(0, 4));
}

function bextChecks({ bext }: FileContract, found: FoundFile): Check[] {
  if (!bext) return [];
  const own = found.bext;
  const { integratedLufs, maxTruePeakDbtp } = own?.loudness ?? {};
  const near = (a: number | null | undefined, b: number | null) =>
    a === undefined ? false : a === null || b === null ? a === b : Math.abs(a - b) <= hundredths;
  const passed =
    own?.version === 2 &&
    own.description === bext.description &&
    near(integratedLufs, found.reading.integratedLufs) &&
    near(maxTruePeakDbtp, found.reading.truePeakDbtp);
  return [
    {
      ...check(
        'bext',
        'Broadcast extension',
        'version 2, with the loudness of this file',
        own
          ? `version ${own.version}, ${integratedLufs ?? 'no'} LUFS, ${maxTruePeakDbtp ?? 'no'} dBTP`
          : 'none',
        passed,
      ),
      source: 'tech-3285',
    },
  ];
}

function check(id: string, what: string, wanted: string, found: string, passed: boolean): Check {
  return { id, what, passed, wanted, found, source: null };
}
