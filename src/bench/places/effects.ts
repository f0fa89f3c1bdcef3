import { createHash } from 'node:crypto';
import type { Run } from '../../audio/run.ts';
import { partOfRun } from '../../audio/run.ts';
import type { Place } from '../../places/place.ts';
import type { KnownFile } from '../hashed-file.ts';
import { keyJson } from '../json.ts';
import { kept, keptResult, runTask, type Workshop } from '../run-task.ts';
import { type KeptLead, type LeadChoice, leadBandsTask } from '../tasks/lead-bands.ts';
import { type EffectOfSong, placeEffectsTask } from '../tasks/place-effects.ts';
import { type BandsOfSong, songBandsTask } from '../tasks/song-bands.ts';
import type { Task } from '../tasks/task.ts';

/** A file whose hash is known. */
export type HashedFile = KnownFile & { readonly sha256: string };

/** A file that tells the lead of a song from the rest. */
export interface LeadFile extends LeadChoice {
  readonly file: HashedFile;
}

export interface PlaceAndLevel {
  readonly place: Place;
  readonly levelDba: number;
}

/** What one song in one place at one level is kept under: whatever is changed in a place gives another, a new name does not. */
interface EffectKey {
  readonly figures: string;
  readonly levelDba: number;
  readonly lead: string | null;
  readonly bandsVersion: number;
}
const keptEffect: Pick<Task<EffectKey, EffectOfSong>, 'name' | 'version'> = {
  name: 'place-effect',
  version: placeEffectsTask.version,
};

/** Shares of the whole at which the stages end: reading takes longest (by feel). */
const readAt = 0.6;

/**
 * A song in places, in their order. Only what is not kept is worked out: after a change of one place that is this place, and
 * the song is not read again, since its bands are kept too. Rejects as runTask does.
 *
 * @param lead told apart by this; null: guessed
 */
export async function effectsOfSong(
  song: HashedFile,
  lead: LeadFile | null,
  wanted: readonly PlaceAndLevel[],
  workshop: Workshop,
  run: Run,
): Promise<{ readonly seconds: number; readonly effects: readonly EffectOfSong[] }> {
  const files = lead ? [song, lead.file] : [song];
  const keys = wanted.map(
    ({ place, levelDba }): EffectKey => ({
      figures: figuresHash(place),
      levelDba,
      lead: lead?.how ?? null,
      bandsVersion: songBandsTask.version,
    }),
  );
  const bands = await runTask(
    songBandsTask,
    { files: [song], options: {} },
    workshop,
    partOfRun(run, 0, lead ? readAt / 2 : readAt),
  );
  const known = await Promise.all(
    keys.map((options) => keptResult<EffectKey, EffectOfSong>(keptEffect, { files, options }, workshop)),
  );
  const missing = [...keys.keys()].filter((i) => known[i] === null);
  const made =
    missing.length === 0
      ? []
      : await work(
          song,
          lead,
          bands,
          missing.map((i) => wanted[i]),
          workshop,
          run,
        );
  const effects = await Promise.all(
    keys.map(
      (options, i) =>
        known[i] ??
        kept(keptEffect, { files, options }, workshop.results, {}, async () => made[missing.indexOf(i)]),
    ),
  );
  run.progress?.(1);
  // What is kept says of which place it was first.
  const named = effects.map(({ effect, ...rest }, i) => ({
    ...rest,
    effect: effect && { ...effect, placeId: wanted[i].place.id },
  }));
  return { seconds: bands.seconds, effects: named };
}

async function work(
  song: HashedFile,
  lead: LeadFile | null,
  bands: BandsOfSong,
  places: readonly PlaceAndLevel[],
  workshop: Workshop,
  run: Run,
): Promise<EffectOfSong[]> {
  const apart: KeptLead | null =
    lead &&
    (await runTask(
      leadBandsTask,
      { files: [song, lead.file], options: { how: lead.how } },
      workshop,
      partOfRun(run, readAt / 2, readAt),
    ));
  const options = { bands, lead: apart, places };
  return workshop.pool.run(placeEffectsTask, { files: [], options }, partOfRun(run, readAt, 1));
}

/** Stands for all of a place that changes what is heard there. */
export function figuresHash({ response, layout, field, protection, maximumDb, noise }: Place): string {
  const figures = { response, layout, field, protection, maximumDb, noise };
  return createHash('sha256').update(keyJson(figures)).digest('hex');
}
