import { useQuery } from '@tanstack/react-query';
import { failureFrom, unreachable } from '../api/client.ts';
import { type LoopSounds, loopExtraSeconds, type Part } from './loop-player.ts';

/** Where the loop lies in the song. */
export interface Loop {
  readonly start: number;
  readonly seconds: number;
}

export interface Excerpt {
  readonly sounds: LoopSounds;
  readonly sampleRate: number;
  /** What was done to the level of original and decoded sound alike, dB. */
  readonly gainDb: number;
  /** By how much the difference is raised above them, dB. */
  readonly raisedDb: number;
  /** By how much the decoded sound was brought to the original's level, dB. */
  readonly matchedDb: number;
  /** Level of the decoded sound over the original's in this passage, dB; null in silence. */
  readonly levelDb: number | null;
}

/** The passage in its three forms, from the server, which codes it when it is first asked for. */
export function useExcerpt(
  versionId: string,
  formatId: string,
  loop: Loop,
  match: boolean,
  enabled: boolean,
) {
  return useQuery({
    queryKey: ['excerpt', versionId, formatId, loop.start, loop.seconds, match],
    queryFn: ({ signal }) => fetchExcerpt(versionId, formatId, loop, match, signal),
    enabled,
    staleTime: Number.POSITIVE_INFINITY,
    // Some megabytes each: what is no longer looked at is let go of soon.
    gcTime: 60_000,
  });
}

async function fetchExcerpt(
  versionId: string,
  formatId: string,
  loop: Loop,
  match: boolean,
  signal: AbortSignal,
): Promise<Excerpt> {
  const get = async (what: Part) => {
    const query = new URLSearchParams({
      what,
      start: String(loop.start),
      seconds: String(loop.seconds + loopExtraSeconds),
      match: String(match),
    });
    const path = `/api/versions/${versionId}/survive/${encodeURIComponent(formatId)}/excerpt?${query}`;
    const response = await fetch(path, { signal }).catch((error: unknown) => {
      throw signal.aborted ? error : unreachable();
    });
    if (!response.ok) throw failureFrom(response.status, await response.json().catch(() => null));
    const decibels = (name: string) => {
      const text = response.headers.get(`x-everyroom-${name}-db`);
      return text ? Number(text) : null;
    };
    return { ...(await decodeWav(await response.arrayBuffer())), decibels };
  };
  const [original, decoded, difference] = await Promise.all([
    get('original'),
    get('decoded'),
    get('difference'),
  ]);
  return {
    sounds: { original: original.channels, decoded: decoded.channels, difference: difference.channels },
    sampleRate: original.sampleRate,
    gainDb: original.decibels('gain') ?? 0,
    raisedDb: difference.decibels('raised') ?? 0,
    matchedDb: difference.decibels('matched') ?? 0,
    levelDb: original.decibels('level'),
  };
}

/** Decoded at the file's own rate, so that the browser changes no sample. */
async function decodeWav(bytes: ArrayBuffer): Promise<{ channels: Float32Array[]; sampleRate: number }> {
  const sampleRate = new DataView(bytes).getUint32(24, true);
  const buffer = await new OfflineAudioContext(1, 1, sampleRate).decodeAudioData(bytes);
  const channels = Array.from({ length: buffer.numberOfChannels }, (_, c) => buffer.getChannelData(c));
  return { channels, sampleRate };
}
