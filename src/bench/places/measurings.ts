import type { Selectable } from 'kysely';
import { CodedError, type ErrorCode, errorCodes } from '../../audio/coded-error.ts';
import { type Measured, measuredSchema } from '../../judge/measured-report.ts';
import {
  type MeasuredPlaceChoice,
  microphoneCurve,
  placeOfMeasurement,
} from '../../places/measured-place.ts';
import type { Curve } from '../../places/place.ts';
import { audioFilePath, keepStream } from '../audio-store.ts';
import { displayName } from '../display-name.ts';
import type { BenchEvents } from '../events.ts';
import type { KnownFile } from '../hashed-file.ts';
import type { Home } from '../home.ts';
import { newId } from '../ids.ts';
import { exactJson } from '../json.ts';
import { runTask, type Workshop } from '../run-task.ts';
import type { Version } from '../shapes.ts';
import type { Store } from '../store/database.ts';
import type { MeasuringRow } from '../store/place-tables.ts';
import { measurePlaceTask } from '../tasks/measure-place.ts';
import type { KnownPlace, PlaceLibrary } from './library.ts';

/** What a recording is of. */
export interface MeasuringSettings {
  /** The version that was played instead of a sweep. */
  readonly referenceVersionId: string | null;
  /** Length of the sweep's main part, s; null: the usual ones are tried. */
  readonly sweepSeconds: number | null;
  readonly sweepToHz: number;
  readonly microphone: Curve | null;
}

export interface Measuring {
  readonly id: string;
  readonly state: MeasuringRow['state'];
  readonly stage: string;
  /** 0..1 */
  readonly progress: number;
  readonly error: { readonly code: ErrorCode; readonly message: string } | null;
  readonly recording: { readonly name: string; readonly sha256: string; readonly bytes: number } | null;
  readonly settings: MeasuringSettings;
  readonly measured: Measured | null;
  readonly placeId: string | null;
  readonly createdAt: string;
}

interface Parts {
  readonly home: Home;
  readonly store: Store;
  readonly workshop: Workshop;
  readonly events: BenchEvents;
  readonly report: (error: unknown) => void;
  version(id: string): Promise<Version>;
}

interface Running {
  readonly stop: AbortController;
  progress: number;
  ended: Promise<void>;
}

const stages: Record<MeasuringRow['state'], string> = {
  waiting: 'waiting for a recording',
  running: 'measuring',
  done: 'done',
  failed: 'failed',
  cancelled: 'cancelled',
};
const toldMilliseconds = 200;

/** The curve of a microphone's file; null for no text. CodedError MICROPHONE_INVALID. */
export function curveOf(text: string | null): Curve | null {
  if (text === null || text.trim() === '') return null;
  const curve = microphoneCurve(text);
  if (curve) return curve;
  throw new CodedError(
    'MICROPHONE_INVALID',
    'There is no curve in the microphone’s file. It holds lines of a frequency in Hz and a level in dB.',
  );
}

/**
 * Recordings made in places and what was measured of them. Each is a row of the database, so that what was recorded survives
 * a crash; one that was being measured then is begun again. Missing ones: CodedError NOT_FOUND.
 */
export class Measurings {
  readonly #parts: Parts;
  readonly #library: PlaceLibrary;
  readonly #running = new Map<string, Running>();
  #closed = false;

  constructor(parts: Parts, library: PlaceLibrary) {
    this.#parts = parts;
    this.#library = library;
  }

  /** Takes up what the last process was measuring. */
  async start(): Promise<void> {
    const rows = await this.#parts.store
      .selectFrom('measurings')
      .select('id')
      .where('state', '=', 'running')
      .execute();
    for (const { id } of rows) this.#begin(id);
  }

  /** Newest first. */
  async list(): Promise<Measuring[]> {
    const rows = await this.#parts.store
      .selectFrom('measurings')
      .selectAll()
      .orderBy('seq', 'desc')
      .execute();
    return rows.map((row) => this.#shape(row));
  }

  async get(id: string): Promise<Measuring> {
    return this.#shape(await this.#row(id));
  }

  /** CodedError NOT_FOUND: no such reference. */
  async make(settings: MeasuringSettings): Promise<Measuring> {
    await this.#check(settings);
    const id = newId();
    await this.#parts.store
      .insertInto('measurings')
      .values({
        id,
        settings: exactJson(settings),
        state: 'waiting',
        error_code: null,
        error_message: null,
        recording_name: null,
        recording_sha256: null,
        recording_bytes: null,
        measured: null,
        place_id: null,
        created_at: new Date().toISOString(),
      })
      .execute();
    return this.#told(id);
  }

  /** Takes the recording in and begins to measure. Rejects as keepStream does. */
  async record(
    id: string,
    { stream, name, maxBytes }: { stream: AsyncIterable<Uint8Array>; name: string; maxBytes: number },
  ): Promise<Measuring> {
    await this.#row(id);
    const { sha256, bytes } = await keepStream(this.#parts.home, stream, maxBytes);
    await this.#stop(id);
    await this.#set(id, {
      recording_name: displayName(name),
      recording_sha256: sha256,
      recording_bytes: bytes,
    });
    return this.#again(id);
  }

  /** Measures the same recording as something else. */
  async change(id: string, patch: Partial<MeasuringSettings>): Promise<Measuring> {
    const before = await this.get(id);
    const settings = { ...before.settings, ...patch };
    await this.#check(settings);
    await this.#stop(id);
    await this.#set(id, { settings: exactJson(settings) });
    return before.recording ? this.#again(id) : this.#told(id);
  }

  async cancel(id: string): Promise<Measuring> {
    await this.#row(id);
    await this.#stop(id);
    await this.#parts.store
      .updateTable('measurings')
      .set({
        state: 'cancelled',
        error_code: 'JOB_CANCELLED',
        error_message: 'The measuring was cancelled.',
      })
      .where('id', '=', id)
      .where('state', '=', 'running')
      .execute();
    return this.#told(id);
  }

  async delete(id: string): Promise<void> {
    await this.#row(id);
    await this.#stop(id);
    await this.#parts.store.deleteFrom('measurings').where('id', '=', id).execute();
    this.#parts.events.emit('places', { measuringId: id });
  }

  /** Makes a place of what was measured. CodedError MEASURING_UNSURE, REQUEST_INVALID. */
  async keepPlace(id: string, choice: Omit<MeasuredPlaceChoice, 'id'>): Promise<KnownPlace> {
    const { measured, state } = await this.get(id);
    if (!measured)
      throw new CodedError(
        'REQUEST_INVALID',
        state === 'waiting' ? 'Nothing has been recorded yet.' : 'Nothing has been measured yet.',
      );
    const known = await this.#library.make(...placeDraft(measured, choice));
    await this.#set(id, { place_id: known.place.id });
    this.#parts.events.emit('places', { measuringId: id });
    return known;
  }

  /** Forgets what is older than `before` and returns the recordings that are still needed. */
  async purge(before: string): Promise<string[]> {
    const { store } = this.#parts;
    await store
      .deleteFrom('measurings')
      .where('created_at', '<', before)
      .where('state', '!=', 'running')
      .execute();
    const rows = await store.selectFrom('measurings').select('recording_sha256').execute();
    return rows.flatMap(({ recording_sha256 }) => recording_sha256 ?? []);
  }

  /** Stops the work; it is begun again at the next start. */
  async close(): Promise<void> {
    this.#closed = true;
    for (const { stop } of this.#running.values()) stop.abort();
    await Promise.all([...this.#running.values()].map(({ ended }) => ended));
  }

  async #check({ referenceVersionId }: MeasuringSettings): Promise<void> {
    if (referenceVersionId !== null) await this.#parts.version(referenceVersionId);
  }

  async #again(id: string): Promise<Measuring> {
    await this.#set(id, { state: 'running', measured: null, error_code: null, error_message: null });
    this.#begin(id);
    return this.#told(id);
  }

  #begin(id: string): void {
    const running: Running = { stop: new AbortController(), progress: 0, ended: Promise.resolve() };
    if (this.#closed) return;
    this.#running.set(id, running);
    running.ended = this.#work(id, running)
      .catch((error) => this.#parts.report(error))
      .finally(() => {
        if (this.#running.get(id) === running) this.#running.delete(id);
      });
  }

  async #work(id: string, running: Running): Promise<void> {
    const { signal } = running.stop;
    let toldAt = 0;
    const progress = (fraction: number): void => {
      running.progress = fraction;
      if (Date.now() - toldAt < toldMilliseconds) return;
      toldAt = Date.now();
      this.#parts.events.emit('places', { measuringId: id });
    };
    try {
      const { recording, settings } = await this.get(id);
      if (!recording) return;
      const reference =
        settings.referenceVersionId === null ? null : await this.#parts.version(settings.referenceVersionId);
      const files = [recording, ...(reference ? [reference] : [])].map(
        ({ sha256 }): KnownFile => ({ path: audioFilePath(this.#parts.home, sha256), sha256 }),
      );
      const { microphone, sweepSeconds, sweepToHz } = settings;
      const options = { microphone, sweepSeconds, sweepToHz };
      const measured = await runTask(measurePlaceTask, { files, options }, this.#parts.workshop, {
        signal,
        progress,
      });
      if (signal.aborted) return;
      await this.#set(id, { state: 'done', measured: exactJson(measured) });
    } catch (error) {
      if (signal.aborted) return;
      const coded =
        error instanceof CodedError
          ? error
          : new CodedError('INTERNAL', 'A fault in Everyroom itself stopped the work.', { cause: error });
      if (coded.code === 'INTERNAL' || coded.code === 'JOB_CRASHED') this.#parts.report(error);
      await this.#set(id, { state: 'failed', error_code: coded.code, error_message: coded.message });
    }
    this.#running.delete(id);
    this.#parts.events.emit('places', { measuringId: id });
  }

  async #stop(id: string): Promise<void> {
    const running = this.#running.get(id);
    running?.stop.abort();
    await running?.ended;
  }

  async #set(id: string, values: Partial<Omit<MeasuringRow, 'seq' | 'id'>>): Promise<void> {
    await this.#parts.store.updateTable('measurings').set(values).where('id', '=', id).execute();
  }

  async #told(id: string): Promise<Measuring> {
    this.#parts.events.emit('places', { measuringId: id });
    return this.get(id);
  }

  async #row(id: string): Promise<Selectable<MeasuringRow>> {
    const row = await this.#parts.store
      .selectFrom('measurings')
      .selectAll()
      .where('id', '=', id)
      .executeTakeFirst();
    if (!row) throw new CodedError('NOT_FOUND', 'There is no such measuring.');
    return row;
  }

  #shape(row: Selectable<MeasuringRow>): Measuring {
    const measured = row.measured === null ? null : measuredSchema.safeParse(JSON.parse(row.measured));
    return {
      id: row.id,
      state: row.state,
      stage: stages[row.state],
      progress: row.state === 'done' ? 1 : (this.#running.get(row.id)?.progress ?? 0),
      error:
        row.error_code === null ? null : { code: codeOf(row.error_code), message: row.error_message ?? '' },
      recording:
        row.recording_sha256 === null
          ? null
          : { name: row.recording_name ?? '', sha256: row.recording_sha256, bytes: row.recording_bytes ?? 0 },
      settings: JSON.parse(row.settings) as MeasuringSettings,
      measured: measured?.success ? measured.data : null,
      placeId: row.place_id,
      createdAt: row.created_at,
    };
  }
}

/** What a measured place is made of in the library. CodedError MEASURING_UNSURE. */
export function placeDraft(
  measured: Measured,
  choice: Omit<MeasuredPlaceChoice, 'id'>,
): Parameters<PlaceLibrary['make']> {
  const place = placeOfMeasurement(measured, { ...choice, id: 'measured' }, measured.bands);
  if (!place)
    throw new CodedError(
      'MEASURING_UNSURE',
      `Only ${measured.sureBands} third octaves are sure, too few for a place. Record nearer, in a quieter moment, or a longer sweep.`,
    );
  const { id: _id, sources, ...draft } = place;
  return [draft, sources];
}

function codeOf(code: string): ErrorCode {
  return code in errorCodes ? (code as ErrorCode) : 'INTERNAL';
}
