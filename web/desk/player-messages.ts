import { placeFilters } from '../../src/places/place-processor.ts';
import type { ToWorklet } from './desk-messages.ts';
import type { LivePlace, Loop, PlayerSource } from './desk-player.ts';

/** What the player says to the worklet: seconds become frames, decibels factors, places filters. */

export function sourcesMessage(
  sources: Iterable<PlayerSource & { readonly key: string }>,
  lengthSeconds: number,
  rate: number,
): ToWorklet {
  return {
    sources: [...sources].map(({ id, key, shiftSeconds, gainDb, serviceDb, chain }) => ({
      key: id,
      sound: key,
      shiftFrames: Math.round(shiftSeconds * rate),
      gain: factor(gainDb),
      serviceGain: factor(serviceDb),
      chain: chain && { settings: chain.chain, dryGain: factor(chain.dryGainDb) },
    })),
    lengthFrames: Math.round(lengthSeconds * rate),
  };
}

export function loopMessage(loop: Loop | null, rate: number): ToWorklet {
  const frame = (seconds: number) => Math.round(seconds * rate);
  return { loop: loop && { start: frame(loop.startSeconds), end: frame(loop.endSeconds) } };
}

export function placeMessage(live: LivePlace | null, rate: number): ToWorklet {
  if (!live) return { place: null, gain: 1 };
  const { place, settings, gainDb } = live;
  const filters = placeFilters(place, settings, rate);
  return { place: { place, settings, filters }, gain: factor(gainDb) };
}

export function placeGainMessage({ gainDb }: LivePlace): ToWorklet {
  return { placeGain: factor(gainDb) };
}

/** Whether the one place is the other but for the gain after it. */
export function samePlace(a: LivePlace, b: LivePlace): boolean {
  const [one, other] = [a.settings, b.settings];
  return (
    a.place === b.place &&
    one.fullScaleDb === other.fullScaleDb &&
    one.playedOn === other.playedOn &&
    one.noise === other.noise
  );
}

function factor(db: number): number {
  return 10 ** (db / 20);
}
