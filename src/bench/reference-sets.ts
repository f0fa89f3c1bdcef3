import { CodedError } from '../audio/coded-error.ts';
import {
  type Reference,
  referenceOf,
  type SetSpreads,
  type SetStanding,
  spreadsOf,
  standingOf,
} from '../compare/reference-set.ts';
import type { BenchEvents } from './events.ts';
import type { Version } from './shapes.ts';
import type { Store } from './store/database.ts';
import { keptFacts } from './store/reports.ts';
import { type ReferenceSet, Sets } from './store/sets.ts';
import type { Songs } from './store/songs.ts';

/** The user's sets of references, and where versions stand in them. From kept measurements only. */
export class ReferenceSets {
  readonly #store: Store;
  readonly #sets: Sets;
  readonly #songs: Songs;
  readonly #events: BenchEvents;
  /** By version and job of its check; what is known of a song as a reference is small, its traces are not. */
  readonly #known = new Map<string, Reference>();

  constructor(store: Store, songs: Songs, events: BenchEvents) {
    this.#store = store;
    this.#sets = new Sets(store);
    this.#songs = songs;
    this.#events = events;
  }

  list(): Promise<ReferenceSet[]> {
    return this.#sets.list();
  }

  get(id: string): Promise<ReferenceSet> {
    return this.#sets.get(id);
  }

  async make(name: string): Promise<ReferenceSet> {
    return this.#changed(await this.#sets.make(name));
  }

  async rename(id: string, name: string): Promise<ReferenceSet> {
    await this.#sets.rename(id, name);
    return this.#changed(id);
  }

  async delete(id: string): Promise<void> {
    await this.#sets.delete(id);
    this.#events.emit('desk', { what: 'sets' });
  }

  async restore(id: string): Promise<ReferenceSet> {
    await this.#sets.restore(id);
    return this.#changed(id);
  }

  /** CodedError REQUEST_INVALID for a version that is no reference. */
  async add(id: string, versionId: string): Promise<ReferenceSet> {
    const version = await this.#songs.getVersion(versionId);
    if (version.kind !== 'reference')
      throw new CodedError(
        'REQUEST_INVALID',
        `“${version.name}” is a ${version.kind}. A set holds references: say first that it is one.`,
      );
    await this.#sets.add(id, versionId);
    return this.#changed(id);
  }

  async remove(id: string, versionId: string): Promise<ReferenceSet> {
    await this.#sets.remove(id, versionId);
    return this.#changed(id);
  }

  /** Ends for good what was deleted before `before`. */
  purge(before: string): Promise<void> {
    return this.#sets.purge(before);
  }

  /** How far the references that have been checked lie apart. */
  async spreads(set: ReferenceSet): Promise<SetSpreads> {
    const references: Reference[] = [];
    for (const { versionId } of set.members) {
      const reference = await this.#reference(versionId);
      if (reference) references.push(reference);
    }
    return spreadsOf(references);
  }

  /** Where a version stands in a set. CodedError NOT_FOUND before its first check has ended. */
  async standing(version: Version, set: ReferenceSet): Promise<SetStanding> {
    const facts = await keptFacts(this.#store, version);
    if (!facts) throw new CodedError('NOT_FOUND', `“${version.name}” has not been checked yet.`);
    return standingOf(facts.measurement, await this.spreads(set));
  }

  async #reference(versionId: string): Promise<Reference | null> {
    const made = await this.#store
      .selectFrom('reports')
      .select('made_at')
      .where('version_id', '=', versionId)
      .executeTakeFirst();
    if (!made) return null;
    const key = `${versionId} ${made.made_at}`;
    let known = this.#known.get(key);
    if (!known) {
      const facts = await keptFacts(this.#store, await this.#songs.getVersion(versionId));
      if (!facts) return null;
      known = referenceOf(facts.measurement);
      this.#known.set(key, known);
    }
    return known;
  }

  #changed(id: string): Promise<ReferenceSet> {
    this.#events.emit('desk', { what: 'sets' });
    return this.#sets.get(id);
  }
}
