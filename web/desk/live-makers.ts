import type { Insert, Makers } from '../../src/compare/listening/insert.ts';
import type { Chain } from '../../src/finish/chain.ts';
import { ChainRunner } from '../../src/finish/chain-runner.ts';
import { TakenAway } from '../../src/finish/taken-away.ts';
import type { Place } from '../../src/places/place.ts';
import { type PlaceFilters, PlaceProcessor, type PlaceSettings } from '../../src/places/place-processor.ts';

/** A place as the worklet gets it: its filters worked out on the page, where that may take some milliseconds. */
export interface PreparedPlace {
  readonly place: Place;
  readonly settings: PlaceSettings;
  readonly filters: PlaceFilters;
}

/** Gives the desk's engine the house's own chains and places: what renders files offline. */
export function liveMakers(sampleRate: number): Makers<Chain, PreparedPlace> {
  return {
    insert: (chain, takenBy) =>
      new ChainInsert(
        takenBy === null
          ? new ChainRunner(chain, sampleRate, 2)
          : new TakenAway(chain, takenBy, sampleRate, 2),
      ),
    surround: ({ place, settings, filters }) => new PlaceProcessor(place, settings, sampleRate, filters),
  };
}

class ChainInsert implements Insert<Chain> {
  readonly latencyFrames: number;
  readonly #runner: ChainRunner | TakenAway;

  constructor(runner: ChainRunner | TakenAway) {
    this.latencyFrames = runner.latencySamples;
    this.#runner = runner;
  }

  process(block: readonly Float32Array[]): void {
    this.#runner.process(block);
  }

  reset(at: number): void {
    this.#runner.reset(at);
  }

  follow(chain: Chain): boolean {
    return this.#runner.followInTime(chain);
  }
}
