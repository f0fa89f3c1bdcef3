import { createHash } from 'node:crypto';
import { setMaxListeners } from 'node:events';
import { CodedError } from '../../audio/coded-error.ts';
import { partOfRun, type Run } from '../../audio/run.ts';
import { recordConsistency, songFigures } from '../../deliver/consistency.ts';
import { type DeliveryPlan, planDelivery, type ReadySong } from '../../deliver/delivery-plan.ts';
import { type DeliveryResult, openPoints, type ProvenFile } from '../../deliver/delivery-result.ts';
import type { DeliveryProfile } from '../../deliver/profiles/profile.ts';
import { type DeliveryProfileId, deliveryProfileOf } from '../../deliver/profiles/profiles.ts';
import { heldAgainst } from '../../deliver/proof/contract.ts';
import type { ReleaseRecord } from '../../deliver/record/record.ts';
import {
  discFindings,
  type RecordFinding,
  vinylFindings,
  wordFindings,
} from '../../deliver/record/record-check.ts';
import { list } from '../../judge/wording.ts';
import { exactJson } from '../json.ts';
import type { Workshop } from '../run-task.ts';
import { version } from '../version.ts';
import { type Gathered, gather, type Locate } from './gather.ts';
import { DeliveryJournal } from './journal.ts';
import { foreseen, makeReady, type ReadyFile } from './make-ready.ts';
import { place } from './place.ts';
import { contractOf, makeProgramme } from './programme.ts';
import { refuseWithoutRoom } from './room.ts';

export interface DeliverOptions {
  readonly record: ReleaseRecord;
  /** Those of the record when left out. */
  readonly profiles?: readonly DeliveryProfileId[];
  readonly locate: Locate;
  /** Where the record's artwork lies; null without one. */
  readonly artworkPath: string | null;
  readonly signal?: AbortSignal;
  /** Told what is being done, for people, and the share of the whole that is done (0..1, never decreasing). */
  onProgress?(stage: string, fraction: number): void;
}

/** Shares of the whole at which the stages end (by feel, for the progress bar only). */
const gatheredAt = 0.15;
const readyAt = 0.3;
const madeAt = 0.98;

/** What would be delivered and what stands in its way; nothing is written. Rejects as `deliver` does. */
export async function planOnly(options: DeliverOptions, workshop: Workshop): Promise<DeliveryResult> {
  return guarded(options, async (run) => {
    const { record } = options;
    const profiles = profilesOf(options);
    const gathered = await gather(
      record,
      profiles,
      options.locate,
      options.artworkPath,
      workshop,
      run('measuring', 0, 1),
    );
    const songs = foreseen(record, gathered);
    const plan = planDelivery(record, profiles, songs);
    const files = filesOf(plan, null, false);
    return resultOf('planned', record, profiles, gathered, songs, plan, files);
  });
}

/**
 * Delivers a record into a folder of its own: every file made, read back from the disk and held against its contract; only when
 * all is met, or taken on by somebody, do files get their names. A run that was stopped at any moment goes on where it was, to the
 * same bytes. Rejects with CodedError: DELIVERY_REFUSED (the folder holds something else), RECORD_INVALID, whatever reading and
 * writing give, FILE_CHANGED, JOB_CANCELLED.
 */
export async function deliver(
  options: DeliverOptions & { readonly folder: string },
  workshop: Workshop,
): Promise<DeliveryResult> {
  return guarded(options, async (run) => {
    const { record, folder } = options;
    const profiles = profilesOf(options);
    const gathered = await gather(
      record,
      profiles,
      options.locate,
      options.artworkPath,
      workshop,
      run('measuring', 0, gatheredAt),
    );
    const journal = await DeliveryJournal.open(folder, keyOf(record, profiles, gathered));
    await refuseWithoutRoom(folder, planDelivery(record, profiles, foreseen(record, gathered)));
    const songs = await makeReady(
      record,
      gathered,
      journal.work,
      workshop,
      run('rendering', gatheredAt, readyAt),
    );
    const plan = planDelivery(record, profiles, songs);
    const making = run('writing', readyAt, madeAt);
    const sizes = plan.programmes.map(({ plan: { frames } }) => frames);
    const shares = sizes.map(() => 0);
    const total = sizes.reduce((sum, size) => sum + size, 0);
    await allOrNone(options.signal, plan.programmes, (programme, p, signal) =>
      makeProgramme(
        programme,
        { record, artwork: gathered.artwork?.file ?? null, journal, workshop },
        {
          signal,
          progress: (fraction) => {
            shares[p] = fraction * sizes[p];
            making.progress?.(shares.reduce((sum, share) => sum + share, 0) / total);
          },
        },
      ),
    );
    // What was hashed in the beginning is what was read.
    for (const { song, instrumental, clean, stems } of gathered.songs)
      for (const sound of [song, instrumental, clean, ...stems]) await sound?.verify?.();
    const files = filesOf(plan, journal, gathered.artwork?.file != null);
    const result = resultOf('done', record, profiles, gathered, songs, plan, files);
    if (result.open.length > 0) return { ...result, state: 'refused' };
    await place(result, journal, run('placing', madeAt, 1));
    return result;
  });
}

function profilesOf({ record, profiles }: DeliverOptions): DeliveryProfile[] {
  return [...new Set(profiles ?? record.profiles)].map(deliveryProfileOf);
}

/** What decides the bytes of a delivery; exceptions do not. */
function keyOf(
  record: ReleaseRecord,
  profiles: readonly DeliveryProfile[],
  { songs, artwork }: Gathered,
): string {
  const { accepted: _accepted, profiles: _wanted, ...words } = record;
  const hashes = songs.map(({ song, instrumental, clean, stems }) =>
    [song, instrumental, clean, ...stems].map((sound) => sound?.sha256 ?? null),
  );
  const all = { program: version(), words, profiles, hashes, artwork: artwork?.sha256 ?? null };
  return createHash('sha256').update(exactJson(all)).digest('hex');
}

function filesOf(
  plan: DeliveryPlan<ReadyFile>,
  journal: DeliveryJournal | null,
  artwork: boolean,
): ProvenFile[] {
  return plan.programmes.flatMap((programme) =>
    programme.files.map((file, i) => {
      const { name, title, from, to } = file;
      const written = journal?.written(programme.id)?.[i] ?? null;
      const found = journal?.file(name) ?? null;
      const contract = contractOf(programme, file, artwork);
      return {
        ...{ name, title, found },
        profileId: programme.profile.id,
        frames: to - from,
        sampleRate: programme.plan.sampleRate,
        dithered: programme.dithered,
        checks: found && written ? heldAgainst(contract, written, found, journal?.coded(name) ?? []) : [],
      };
    }),
  );
}

function resultOf(
  state: DeliveryResult['state'],
  record: ReleaseRecord,
  profiles: readonly DeliveryProfile[],
  gathered: Gathered,
  songs: readonly ReadySong<ReadyFile>[],
  plan: DeliveryPlan<ReadyFile>,
  files: readonly ProvenFile[],
): DeliveryResult {
  const measurements = songs.map(({ song }) => song.measurement);
  const album =
    plan.programmes.find(({ profile: { shape } }) => shape !== 'variants' && shape !== 'stems')?.plan ?? null;
  const findings = [
    ...songFindings(record, gathered),
    ...wordFindings(record, profiles, gathered.artwork?.look ?? null),
    ...(plan.disc ? discFindings(plan.disc) : []),
    ...(plan.sides ? vinylFindings(plan.sides.sides, plan.sides.sampleRate, measurements) : []),
  ];
  return {
    state,
    record,
    files,
    texts: plan.texts,
    findings,
    ...openPoints(record, findings, files),
    consistency: recordConsistency(
      songs.map(({ song }, i) => {
        const figures = songFigures(song.measurement);
        const { gainDb } = record.songs[i];
        const plus = (level: number | null) => (level === null ? null : level + gainDb);
        return { ...figures, loudness: plus(figures.loudness), truePeakDbtp: plus(figures.truePeakDbtp) };
      }),
    ),
    plan: album,
    disc: plan.disc,
    sides: plan.sides,
    turnedDown: plan.turnedDown,
    seconds: album ? album.frames / album.sampleRate : 0,
  };
}

/** What was approved once and is another file now; and songs at another rate than the rest. */
function songFindings(record: ReleaseRecord, { songs }: Gathered): RecordFinding[] {
  const rates = new Set(songs.map(({ song }) => song.measured.measurement.sampleRate));
  return [
    ...record.songs.flatMap(({ title, approved }, i) =>
      approved && approved.sha256 !== songs[i].song.sha256
        ? [
            {
              id: `approval@${i + 1}`,
              weight: 'must' as const,
              sentence: `“${title}” was changed since ${approved.by} approved it on ${approved.at.slice(0, 10)}. Have it approved again.`,
              source: null,
            },
          ]
        : [],
    ),
    ...(rates.size > 1
      ? [
          {
            id: 'rates',
            weight: 'know' as const,
            sentence: `The songs are at ${list([...rates].map((rate) => `${rate / 1000} kHz`))}; where a profile keeps the rate, all are brought to the highest.`,
            source: null,
          },
        ]
      : []),
  ];
}

/** All at once; the first that fails stops the others, and is waited for with them. */
async function allOrNone<T>(
  signal: AbortSignal | undefined,
  items: readonly T[],
  work: (item: T, index: number, signal: AbortSignal) => Promise<void>,
): Promise<void> {
  const stop = new AbortController();
  const either = signal ? AbortSignal.any([signal, stop.signal]) : stop.signal;
  setMaxListeners(0, either);
  const all = items.map((item, i) => work(item, i, either));
  try {
    await Promise.all(all);
  } catch (error) {
    stop.abort();
    await Promise.allSettled(all);
    throw error;
  }
}

type StagedRun = (stage: string, from: number, to: number) => Run;

/** Work with a progress that never goes back; what is cancelled says so. */
async function guarded<T>(
  { record, signal, onProgress }: DeliverOptions,
  work: (run: StagedRun) => Promise<T>,
): Promise<T> {
  let furthest = 0;
  const run: StagedRun = (stage, from, to) =>
    partOfRun(
      {
        signal,
        progress: (fraction) => {
          furthest = Math.max(furthest, Math.min(1, fraction));
          onProgress?.(stage, furthest);
        },
      },
      from,
      to,
    );
  try {
    return await work(run);
  } catch (error) {
    if (!signal?.aborted) throw error;
    throw new CodedError(
      'JOB_CANCELLED',
      `The delivery of “${record.title}” was stopped. Started again, it goes on where it was.`,
    );
  }
}
