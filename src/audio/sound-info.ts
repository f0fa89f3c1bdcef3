/** What a sound file says of itself; known after its header is read. */
export interface SoundInfo {
  /** Short upper-case name of the container: WAV, RF64, BW64, AIFF, AIFF-C, FLAC, MP4, MP3, OGG, ADTS. */
  readonly container: string;
  /** Name of the coding inside: 'PCM', 'PCM float', 'FLAC', 'ALAC', 'AAC', 'MP3', 'Vorbis', 'Opus'. */
  readonly codec: string;
  /** Hz. For Opus always 48000. */
  readonly sampleRate: number;
  readonly channels: number;
  /** Bits a sample as stored; null where the coding has no such thing (lossy). */
  readonly bitDepth: number | null;
  /** Sample frames; null while unknown (some coded streams, until decoded). */
  readonly frames: number | null;
  /** What was tolerated, a plain sentence each ('The header promises 10.0 s, the file holds 9.2 s.'); empty when all is well. */
  readonly warnings: readonly string[];
}

/** Tags as text, under common names: title, artist, album, isrc, ...; absent when the file has none. */
export type SoundTags = Readonly<Record<string, string>>;

const promises = 'The header promises ';

/** What is said of a file that does not hold what its header says, seconds. */
export function lengthWarning(promisedSeconds: string, heldSeconds: string): string {
  return `${promises}${promisedSeconds} s, the file holds ${heldSeconds} s.`;
}

/** The warning about a length that does not hold, when there is one: such a file may still be being written. */
export function lengthWarningOf({ warnings }: Pick<SoundInfo, 'warnings'>): string | undefined {
  return warnings.find((warning) => warning.startsWith(promises));
}
