import { readdir } from 'node:fs/promises';
import { join } from 'node:path';
import { CodedError } from '../../audio/coded-error.ts';
import type { DeliveryResult } from '../../deliver/delivery-result.ts';
import { distinctNames, safeName } from '../../deliver/record/file-names.ts';
import { type ReleaseRecord, readRecord } from '../../deliver/record/record.ts';
import { audioFilePath, keepStream } from '../audio-store.ts';
import type { Version } from '../shapes.ts';
import { storageError } from '../storage-error.ts';
import { type KeptRecord, RecordStore, type Review } from '../store/records.ts';
import { lookAtArtwork } from './artwork.ts';
import { type DeliverOptions, deliver, planOnly } from './deliver.ts';
import { gather } from './gather.ts';
import { joinSound } from './join-sound.ts';
import type { RecordTools } from './record-tools.ts';
import { Reviews } from './reviews.ts';

/** How far a delivery is. */
export interface Delivery {
  readonly id: string;
  readonly folder: string;
  readonly state: 'running' | 'done' | 'refused' | 'failed' | 'stopped';
  readonly stage: string;
  /** 0..1 */
  readonly progress: number;
  readonly result: DeliveryResult | null;
  readonly error: { readonly code: string; readonly message: string } | null;
  readonly createdAt: string;
}

interface Running {
  readonly stop: AbortController;
  readonly done: Promise<void>;
  stage: string;
  progress: number;
}

const mostArtworkBytes = 32 * 2 ** 20;
/** Between two words about progress. */
const progressMilliseconds = 250;

/** Records on the bench, and their deliveries. */
export class RecordRoom {
  readonly store: RecordStore;
  readonly reviews: Reviews;
  readonly #tools: RecordTools;
  readonly #running = new Map<string, Running>();

  constructor(tools: RecordTools) {
    this.#tools = tools;
    this.store = new RecordStore(tools.store);
    this.reviews = new Reviews(tools, this.store);
  }

  /** A record of versions, in this order, titles from their songs. CodedError NOT_FOUND, RECORD_INVALID. */
  async make(wanted: {
    title: string;
    artist: string;
    kind: ReleaseRecord['kind'];
    versionIds: readonly string[];
  }): Promise<KeptRecord> {
    const { title, artist, kind, versionIds } = wanted;
    const songs = await Promise.all(
      versionIds.map(async (versionId) => {
        const version = await this.#tools.songs.getVersion(versionId);
        const song = await this.#tools.songs.get(version.songId);
        return { title: song.title, source: { versionId } };
      }),
    );
    const id = await this.store.add(readRecord({ version: 1, kind, title, artist, songs }), this.#now());
    this.#tools.told(id);
    return this.store.get(id);
  }

  /** All of it anew. CodedError RECORD_INVALID, with the place that is wrong. */
  async change(id: string, data: unknown): Promise<KeptRecord> {
    const record = readRecord(data);
    for (const source of record.songs.flatMap(({ source, instrumental, clean, stems }) => [
      source,
      instrumental,
      clean,
      ...stems.map((stem) => stem.source),
    ]))
      if (source && 'file' in source)
        throw new CodedError(
          'RECORD_INVALID',
          'A record on the bench is made of versions on the bench, not of files.',
        );
    await this.store.update(id, { data: JSON.stringify(record), changed_at: this.#now() });
    this.#tools.told(id);
    return this.store.get(id);
  }

  async setArtwork(id: string, stream: AsyncIterable<Uint8Array>, name: string): Promise<KeptRecord> {
    await this.store.get(id);
    const { sha256 } = await keepStream(this.#tools.home, stream, mostArtworkBytes);
    const { mimeType } = await lookAtArtwork(audioFilePath(this.#tools.home, sha256));
    if (mimeType === null) throw new CodedError('REQUEST_INVALID', `“${name}” is neither a JPEG nor a PNG.`);
    await this.store.update(id, { artwork_sha256: sha256, artwork_name: name, changed_at: this.#now() });
    this.#tools.told(id);
    return this.store.get(id);
  }

  async dropArtwork(id: string): Promise<KeptRecord> {
    await this.store.update(id, { artwork_sha256: null, artwork_name: null, changed_at: this.#now() });
    this.#tools.told(id);
    return this.store.get(id);
  }

  async delete(id: string): Promise<void> {
    await this.store.get(id);
    await this.store.update(id, { deleted_at: this.#now() });
    this.#tools.told(id);
  }

  async restore(id: string): Promise<KeptRecord> {
    await this.store.update(id, { deleted_at: null });
    this.#tools.told(id);
    return this.store.get(id);
  }

  /** Versions of a record's songs, null where one is gone for good. */
  async versions({ record }: KeptRecord): Promise<(Version | null)[]> {
    return Promise.all(
      record.songs.map(async ({ source }) =>
        'versionId' in source ? this.#tools.songs.getVersion(source.versionId).catch(() => null) : null,
      ),
    );
  }

  /** Of each song, the newest word of approval on any of its versions. */
  async approvals(kept: KeptRecord): Promise<(Review | null)[]> {
    const versions = await this.versions(kept);
    return Promise.all(versions.map((version) => (version ? this.store.lastApproval(version.songId) : null)));
  }

  /** What would be delivered and what stands in its way. Rejects as planOnly. */
  async plan(id: string, signal?: AbortSignal): Promise<DeliveryResult> {
    const kept = await this.store.get(id);
    return planOnly({ ...(await this.#options(kept)), signal }, this.#tools.workshop);
  }

  /** How song `first` (from 0) and the next one meet: a WAV file. CodedError NOT_FOUND, and what reading gives. */
  async joinSound(id: string, first: number, signal?: AbortSignal): Promise<string> {
    const { record } = await this.store.get(id);
    const pair = record.songs.slice(first, first + 2);
    if (pair.length < 2) throw new CodedError('NOT_FOUND', 'There is no song after that one.');
    const { home, workshop } = this.#tools;
    const gathered = await gather({ ...record, songs: pair }, [], this.#locate, null, workshop, { signal });
    const [before, after] = gathered.songs;
    return joinSound(record, [before, after], first, home.excerptsPath, workshop, { signal });
  }

  /** Begins to deliver into a new folder, called like the record, inside another one; the application's own when none is named. */
  async deliver(id: string, inside: string | null): Promise<Delivery> {
    const kept = await this.store.get(id);
    const parent = inside ?? join(this.#tools.home.path, 'deliveries');
    const names = await readdir(parent).catch(() => [] as string[]);
    const folder = join(
      parent,
      distinctNames([...names, safeName(kept.record.title, 'Record')]).at(-1) ?? 'Record',
    );
    const options = await this.#options(kept);
    const deliveryId = await this.store.addDelivery({
      record_id: id,
      folder,
      data: JSON.stringify({ record: options.record, artworkPath: options.artworkPath }),
      created_at: this.#now(),
    });
    this.#begin(deliveryId, id, folder, options);
    this.#tools.told(id);
    return this.delivery(deliveryId);
  }

  /**
   * Goes on with a delivery that stands still, where it was: with the record as it was then, and what has been taken on since.
   * CodedError REQUEST_INVALID for one that is done or under way.
   */
  async goOn(deliveryId: string): Promise<Delivery> {
    const row = await this.store.delivery(deliveryId);
    if (row.state === 'done' || this.#running.has(deliveryId))
      throw new CodedError('REQUEST_INVALID', 'That delivery is done, or under way.');
    const { record: before, artworkPath } = JSON.parse(row.data) as {
      record: unknown;
      artworkPath: string | null;
    };
    const now = await this.store.get(row.record_id);
    const record = { ...readRecord(before), accepted: now.record.accepted };
    await this.store.updateDelivery(deliveryId, { state: 'running', error_code: null, error_message: null });
    this.#begin(deliveryId, row.record_id, row.folder, { record, locate: this.#locate, artworkPath });
    this.#tools.told(row.record_id);
    return this.delivery(deliveryId);
  }

  /** Stops it where it is; what was made stays for going on. */
  async stop(deliveryId: string): Promise<Delivery> {
    const running = this.#running.get(deliveryId);
    running?.stop.abort();
    await running?.done;
    return this.delivery(deliveryId);
  }

  async delivery(deliveryId: string): Promise<Delivery> {
    return this.#shown(await this.store.delivery(deliveryId));
  }

  /** Newest first. */
  async deliveries(recordId: string): Promise<Delivery[]> {
    return (await this.store.deliveries(recordId)).map((row) => this.#shown(row));
  }

  async close(): Promise<void> {
    for (const { stop } of this.#running.values()) stop.abort();
    await Promise.all([...this.#running.values()].map(({ done }) => done));
  }

  #begin(deliveryId: string, recordId: string, folder: string, options: DeliverOptions): void {
    const stop = new AbortController();
    let toldAt = 0;
    const running: Running = {
      stop,
      stage: 'waiting',
      progress: 0,
      done: this.#carryOut(deliveryId, recordId, {
        ...options,
        folder,
        signal: stop.signal,
        onProgress: (stage, progress) => {
          Object.assign(running, { stage, progress });
          if (Date.now() - toldAt < progressMilliseconds) return;
          toldAt = Date.now();
          this.#tools.told(recordId);
        },
      }),
    };
    this.#running.set(deliveryId, running);
  }

  async #carryOut(
    deliveryId: string,
    recordId: string,
    options: DeliverOptions & { folder: string },
  ): Promise<void> {
    try {
      const result = await deliver(options, this.#tools.workshop);
      const state = result.state === 'done' ? 'done' : 'refused';
      await this.store.updateDelivery(deliveryId, { state, result: JSON.stringify(result) });
    } catch (error) {
      if (options.signal?.aborted) await this.store.updateDelivery(deliveryId, { state: 'stopped' });
      else {
        const coded = error instanceof CodedError ? error : storageError(error, 'The delivery');
        if (coded !== error) this.#tools.report(error);
        await this.store.updateDelivery(deliveryId, {
          state: 'failed',
          error_code: coded.code,
          error_message: coded.message,
        });
      }
    } finally {
      this.#running.delete(deliveryId);
      this.#tools.told(recordId);
    }
  }

  async #options(kept: KeptRecord): Promise<DeliverOptions> {
    const approvals = await this.approvals(kept);
    const songs = kept.record.songs.map((song, i) => {
      const word = approvals[i];
      const approved = word?.what === 'approved' ? { sha256: word.sha256, by: word.by, at: word.at } : null;
      return { ...song, approved };
    });
    const artworkPath = kept.artwork ? audioFilePath(this.#tools.home, kept.artwork.sha256) : null;
    return { record: { ...kept.record, songs }, locate: this.#locate, artworkPath };
  }

  readonly #locate: DeliverOptions['locate'] = async (source) => {
    if (!('versionId' in source))
      throw new CodedError('RECORD_INVALID', 'A record on the bench is made of versions.');
    const { name, sha256 } = await this.#tools.songs.getVersion(source.versionId);
    return { path: audioFilePath(this.#tools.home, sha256), name, sha256 };
  };

  #shown(row: Awaited<ReturnType<RecordStore['delivery']>>): Delivery {
    const { id, folder, state, result, error_code, error_message, created_at } = row;
    const running = this.#running.get(id);
    return {
      ...{ id, folder },
      state,
      stage: running?.stage ?? state,
      progress: running?.progress ?? (state === 'done' ? 1 : 0),
      result: result === null ? null : (JSON.parse(result) as DeliveryResult),
      error: error_code === null ? null : { code: error_code, message: error_message ?? '' },
      createdAt: created_at,
    };
  }

  #now(): string {
    return this.#tools.now().toISOString();
  }
}
