import { profiles } from './profiles.ts';

/** What a service brings songs to when it plays all at one loudness, LUFS: AES TD1008, as the streaming profile has it. */
const serviceLufs = profiles.find(({ id }) => id === 'streaming')?.loudness?.targetLufs ?? 0;

/** What a service turns a song by, dB, at most 0: services turn down, and not every one turns up. 0 for a song without a loudness. */
export function serviceGainDb(integratedLufs: number | null): number {
  return integratedLufs === null ? 0 : Math.min(0, serviceLufs - integratedLufs);
}
