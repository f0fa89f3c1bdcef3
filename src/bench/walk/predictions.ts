import type { Run } from '../../audio/run.ts';
import type { WideBandName } from '../../measure/wide-bands.ts';
import type { PlaceBalance } from '../../places/place-balance.ts';
import { audioFilePath } from '../audio-store.ts';
import { runTask } from '../run-task.ts';
import { type PlaceBalanceOptions, placeBalanceTask } from '../tasks/place-balance.ts';
import { songBandsTask } from '../tasks/song-bands.ts';
import { balancesOf, type WalkCorrection } from './correction.ts';
import type { WalkTools } from './walk-tools.ts';

/** One area in one place, before and after, beside the references there. */
export interface AreaPrediction {
  readonly area: WideBandName;
  /** Loudness of the area against all of it, phon; null where nothing is heard. */
  readonly beforePhon: number | null;
  readonly afterPhon: number | null;
  readonly lowPhon: number | null;
  readonly highPhon: number | null;
  readonly heardBefore: number | null;
  readonly heardAfter: number | null;
}

export interface PlacePrediction {
  readonly placeId: string;
  readonly name: string;
  /** Stops of the walk that are this place. */
  readonly stopIds: readonly string[];
  readonly levelDba: number;
  readonly areas: readonly AreaPrediction[];
  /** How far the areas lie outside what the references do there, phon: root of the sum of squares. */
  readonly outsideBefore: number;
  readonly outsideAfter: number;
}

export type WalkPredictions = readonly PlacePrediction[];

/**
 * What every place would hear of a walk's correction: those of the walk first, then by how far the song lies outside what the
 * references do there. Empty for silence.
 */
export async function predictedWalk(
  tools: WalkTools,
  { walk, stops, bandsDb }: WalkCorrection,
  run: Run = {},
): Promise<WalkPredictions> {
  const places = await tools.places();
  const { sha256 } = walk.version;
  const before = await balancesOf(tools, sha256, places, run);
  const references: (PlaceBalance[] | null)[] = [];
  for (const { sha256: reference } of walk.references)
    if (reference !== null) references.push(await balancesOf(tools, reference, places, run));
  const file = { path: audioFilePath(tools.home, sha256), sha256 };
  const curveDb = bandsDb.map((db) => Math.round(100 * db) / 100);
  const bands = await runTask(songBandsTask, { files: [file], options: {} }, tools.workshop, run);
  const after = curveDb.every((db) => db === 0)
    ? before
    : await tools.workshop.pool.run<PlaceBalanceOptions, PlaceBalance[] | null>(
        placeBalanceTask,
        { files: [], options: { bands, places, curveDb } },
        run,
      );
  if (!before || !after) return [];
  const predictions = places.map(({ id, name }, p): PlacePrediction => {
    const areas = before[p].areas.map(({ area, sharePhon, heardShare }, a): AreaPrediction => {
      const theirs = references.flatMap((each) => each?.[p].areas[a].sharePhon ?? []);
      return {
        area,
        beforePhon: sharePhon,
        afterPhon: after[p].areas[a].sharePhon,
        lowPhon: theirs.length > 0 ? Math.min(...theirs) : null,
        highPhon: theirs.length > 0 ? Math.max(...theirs) : null,
        heardBefore: heardShare,
        heardAfter: after[p].areas[a].heardShare,
      };
    });
    return {
      placeId: id,
      name,
      stopIds: stops.flatMap((stop) => (stop.placeId === id ? [stop.id] : [])),
      levelDba: before[p].levelDba,
      areas,
      outsideBefore: outside(areas, 'beforePhon'),
      outsideAfter: outside(areas, 'afterPhon'),
    };
  });
  return predictions.sort(
    (a, b) =>
      Number(b.stopIds.length > 0) - Number(a.stopIds.length > 0) || b.outsideBefore - a.outsideBefore,
  );
}

function outside(areas: readonly AreaPrediction[], which: 'beforePhon' | 'afterPhon'): number {
  return Math.hypot(
    ...areas.map(({ [which]: phon, lowPhon, highPhon }) =>
      phon === null || lowPhon === null || highPhon === null
        ? 0
        : Math.max(0, lowPhon - phon, phon - highPhon),
    ),
  );
}
