import { viewOf } from './byte-source.ts';

/**
 * The broadcast extension of a WAV file, EBU Tech 3285 version 2 (2011; layout and 'unknown' value from memory, checked
 * against libsndfile and ffmpeg). Texts are ASCII: see bextText.
 */
export interface Bext {
  readonly description: string;
  readonly originator: string;
  readonly originatorReference: string;
  /** 'yyyy-mm-dd', or ''. */
  readonly originationDate: string;
  /** 'hh:mm:ss', or ''. */
  readonly originationTime: string;
  /** Samples since midnight at the beginning of the sound. */
  readonly timeReference: number;
  /** null: not known. */
  readonly loudness: BextLoudness;
  readonly codingHistory: string;
}

export interface BextLoudness {
  readonly integratedLufs: number | null;
  readonly rangeLu: number | null;
  readonly maxTruePeakDbtp: number | null;
  readonly maxMomentaryLufs: number | null;
  readonly maxShortTermLufs: number | null;
}

const fields = {
  description: [0, 256],
  originator: [256, 32],
  originatorReference: [288, 32],
  originationDate: [320, 10],
  originationTime: [330, 8],
} as const;
const timeAt = 338;
const versionAt = 346;
const loudnessAt = 412;
const fixedBytes = 602;
const notKnown = 0x7fff;

/** The chunk's contents, without its name and size. */
export function bextBytes(bext: Bext): Uint8Array<ArrayBuffer> {
  const history = ascii(bext.codingHistory);
  const bytes = new Uint8Array(fixedBytes + history.length + (history.length % 2));
  const view = viewOf(bytes);
  for (const [name, [at, length]] of Object.entries(fields))
    bytes.set(ascii(bext[name as keyof typeof fields]).slice(0, length), at);
  view.setBigUint64(timeAt, BigInt(bext.timeReference), true);
  view.setUint16(versionAt, 2, true);
  const { integratedLufs, rangeLu, maxTruePeakDbtp, maxMomentaryLufs, maxShortTermLufs } = bext.loudness;
  [integratedLufs, rangeLu, maxTruePeakDbtp, maxMomentaryLufs, maxShortTermLufs].forEach((value, i) => {
    view.setInt16(loudnessAt + 2 * i, inHundredths(value), true);
  });
  bytes.set(history, fixedBytes);
  return bytes;
}

/** Reads what `bextBytes` wrote, or another program; null where it is too short to be one. */
export function readBext(bytes: Uint8Array): (Bext & { readonly version: number }) | null {
  if (bytes.length < fixedBytes) return null;
  const view = viewOf(bytes);
  const text = (at: number, length: number) =>
    String.fromCharCode(...bytes.subarray(at, at + length)).split('\0')[0];
  const version = view.getUint16(versionAt, true);
  const [integratedLufs, rangeLu, maxTruePeakDbtp, maxMomentaryLufs, maxShortTermLufs] = [0, 1, 2, 3, 4].map(
    (i) => {
      const value = view.getInt16(loudnessAt + 2 * i, true);
      return version < 2 || value === notKnown ? null : value / 100;
    },
  );
  return {
    version,
    description: text(...fields.description),
    originator: text(...fields.originator),
    originatorReference: text(...fields.originatorReference),
    originationDate: text(...fields.originationDate),
    originationTime: text(...fields.originationTime),
    timeReference: Number(view.getBigUint64(timeAt, true)),
    loudness: { integratedLufs, rangeLu, maxTruePeakDbtp, maxMomentaryLufs, maxShortTermLufs },
    codingHistory: text(fixedBytes, bytes.length - fixedBytes),
  };
}

/** A level as the chunk holds it: hundredths, rounded (Tech 3285 v2 §2.4; halves away from zero). */
function inHundredths(value: number | null): number {
  if (value === null || !Number.isFinite(value) || Math.abs(value) >= 327) return notKnown;
  return Math.sign(value) * Math.round(Math.abs(value) * 100);
}

/** Text as the chunk can hold it: accents taken off, '?' for what has no letter in ASCII, at most `most` characters. */
export function bextText(text: string, most: number): string {
  return [...text.normalize('NFD').replace(/\p{M}/gu, '')]
    .map((letter) => (letter < '\x80' ? letter : '?'))
    .slice(0, most)
    .join('');
}

function ascii(text: string): Uint8Array {
  return Uint8Array.from(bextText(text, text.length), (letter) => letter.charCodeAt(0));
}
