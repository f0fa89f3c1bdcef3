import type { Calibration } from '../../hearing/calibration.ts';
import type { Listener } from '../../hearing/exposure.ts';
import { exactJson } from '../json.ts';
import type { Store } from './database.ts';

export interface KeptCalibration extends Calibration {
  /** ISO 8601, UTC. */
  readonly madeAt: string;
}

export interface LevelSettings {
  readonly calibration: KeptCalibration | null;
  readonly listener: Listener;
  readonly cautionRead: boolean;
}

export interface KeptStretch {
  readonly endedAt: string;
  readonly seconds: number;
  readonly levelDbfsA: number;
  readonly splDb: number | null;
}

const unset: LevelSettings = { calibration: null, listener: 'adult', cautionRead: false };

export async function levelSettings(store: Pick<Store, 'selectFrom'>): Promise<LevelSettings> {
  const row = await store.selectFrom('desk_level').selectAll().executeTakeFirst();
  if (!row) return unset;
  return {
    calibration: row.calibration === null ? null : (JSON.parse(row.calibration) as KeptCalibration),
    listener: row.listener,
    cautionRead: row.caution_read === 1,
  };
}

export async function keepLevelSettings(store: Store, patch: Partial<LevelSettings>): Promise<void> {
  await store.transaction().execute(async (tx) => {
    const { calibration, listener, cautionRead } = { ...(await levelSettings(tx)), ...patch };
    await tx
      .insertInto('desk_level')
      .orReplace()
      .values({
        one: 1,
        calibration: calibration === null ? null : exactJson(calibration),
        listener,
        caution_read: cautionRead ? 1 : 0,
      })
      .execute();
  });
}

/** Keeps a stretch and forgets those that ended before `forgetBefore`. */
export async function keepStretch(
  store: Store,
  { endedAt, seconds, levelDbfsA, splDb }: KeptStretch,
  forgetBefore: string,
): Promise<void> {
  await store.transaction().execute(async (tx) => {
    await tx.deleteFrom('exposures').where('ended_at', '<', forgetBefore).execute();
    await tx
      .insertInto('exposures')
      .values({ ended_at: endedAt, seconds, level_dbfs_a: levelDbfsA, spl_db: splDb })
      .execute();
  });
}

export async function stretchesSince(store: Store, from: string): Promise<KeptStretch[]> {
  const rows = await store.selectFrom('exposures').selectAll().where('ended_at', '>=', from).execute();
  return rows.map((row) => ({
    endedAt: row.ended_at,
    seconds: row.seconds,
    levelDbfsA: row.level_dbfs_a,
    splDb: row.spl_db,
  }));
}
