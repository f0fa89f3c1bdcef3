import { CodedError } from '../../audio/coded-error.ts';
import { builtInPlaces } from '../../places/built-in-places.ts';
import { type Place, placeFigures, placeSchema } from '../../places/place.ts';
import { exactJson } from '../json.ts';
import type { Store } from '../store/database.ts';
import type { PlaceRow } from '../store/place-tables.ts';

/** A place of the library. */
export interface KnownPlace {
  readonly place: Place;
  readonly builtIn: boolean;
  /** The place it is a copy of, under its name at that time. */
  readonly from: { readonly placeId: string; readonly name: string } | null;
  /** null for built-in ones. */
  readonly changedAt: string | null;
}

/** All of a place that a user sets; where its figures come from follows from that. */
export type PlaceDraft = Omit<Place, 'id' | 'sources'>;

/** Which group of sources a figure belongs to. */
const groupOf: Record<keyof Omit<PlaceDraft, 'name'>, (typeof placeFigures)[number]> = {
  response: 'response',
  layout: 'layout',
  field: 'layout',
  protection: 'limits',
  maximumDb: 'limits',
  wireless: 'limits',
  noise: 'noise',
  levels: 'levels',
};
/** Ids that stand for something else in addresses. */
const reserved = new Set(['sweep', 'measurings']);
const builtInById = new Map(builtInPlaces.map((place) => [place.id, place]));
const setByUser = { source: 'user', note: 'set by you' };

/**
 * Every place: those that come with the program, which never change, and the user's own in the database. Missing ones:
 * CodedError NOT_FOUND; names that are taken and figures out of range: REQUEST_INVALID.
 */
export class PlaceLibrary {
  readonly #store: Store;
  /** Told when the library reads differently. */
  readonly #changed: () => void;

  constructor(store: Store, changed: () => void = () => {}) {
    this.#store = store;
    this.#changed = changed;
  }

  /** Built-in ones in their order, then the user's own by name. */
  async list(): Promise<KnownPlace[]> {
    const own = await this.#store
      .selectFrom('places')
      .selectAll()
      .where('deleted_at', 'is', null)
      .orderBy('name', (order) => order.collate('nocase'))
      .orderBy('seq')
      .execute();
    return [...builtInPlaces.map(knownBuiltIn), ...own.map(knownOwn)];
  }

  async get(id: string): Promise<KnownPlace> {
    const builtIn = builtInById.get(id);
    return builtIn ? knownBuiltIn(builtIn) : knownOwn(await this.#row(id));
  }

  /** By id or by name, however that is written; of several that begin so, none. CodedError NOT_FOUND names what there is. */
  async find(name: string): Promise<KnownPlace> {
    const all = await this.list();
    const wanted = name.trim().toLowerCase();
    const exact = all.find(({ place }) => place.id === wanted || place.name.toLowerCase() === wanted);
    if (exact) return exact;
    const beginning = all.filter(({ place }) => place.name.toLowerCase().startsWith(wanted));
    if (wanted !== '' && beginning.length === 1) return beginning[0];
    throw new CodedError(
      'NOT_FOUND',
      `There is no place “${name}”. There are: ${all.map(({ place }) => place.id).join(', ')}.`,
    );
  }

  /** A new place of the user's; its sources are theirs where none are given. */
  async make(draft: PlaceDraft, sources?: Place['sources']): Promise<KnownPlace> {
    const all =
      sources ?? (Object.fromEntries(placeFigures.map((name) => [name, setByUser])) as Place['sources']);
    return this.#insert({ ...draft, sources: all }, null);
  }

  /** A copy under a name of its own, which remembers what it is a copy of. */
  async copy(id: string, name?: string): Promise<KnownPlace> {
    const { place } = await this.get(id);
    return this.#insert({ ...place, name: name ?? (await this.#freeName(place.name)) }, place);
  }

  /** Changes a place; of a built-in one, a copy that is made for it. */
  async change(id: string, patch: Partial<PlaceDraft>): Promise<KnownPlace> {
    const { place, builtIn } = await this.get(id);
    const changed = withPatch(place, patch);
    if (builtIn)
      return this.#insert({ ...changed, name: patch.name ?? (await this.#freeName(place.name)) }, place);
    const checked = parsed(changed);
    await this.#store.transaction().execute(async (tx) => {
      await refuseTaken(tx, checked.name, id);
      await tx
        .updateTable('places')
        .set({ name: checked.name, place: textOf(checked), changed_at: now() })
        .where('id', '=', id)
        .execute();
    });
    this.#changed();
    return this.get(id);
  }

  /** Hides one's own until purge. */
  async delete(id: string): Promise<void> {
    if (builtInById.has(id))
      throw new CodedError('REQUEST_INVALID', 'A place that comes with Everyroom cannot be deleted.');
    await this.#row(id);
    await this.#store.updateTable('places').set({ deleted_at: now() }).where('id', '=', id).execute();
    this.#changed();
  }

  async restore(id: string): Promise<KnownPlace> {
    await this.#store.transaction().execute(async (tx) => {
      const row = await tx.selectFrom('places').select('name').where('id', '=', id).executeTakeFirst();
      if (!row) throw noPlace();
      await refuseTaken(tx, row.name, id);
      await tx.updateTable('places').set({ deleted_at: null }).where('id', '=', id).execute();
    });
    this.#changed();
    return this.get(id);
  }

  /** Ends for good what was deleted before `before`. */
  async purge(before: string): Promise<void> {
    await this.#store.deleteFrom('places').where('deleted_at', '<', before).execute();
  }

  async #insert(place: Omit<Place, 'id'>, from: Place | null): Promise<KnownPlace> {
    const checked = await this.#store.transaction().execute(async (tx) => {
      await refuseTaken(tx, place.name, null);
      const ids = new Set((await tx.selectFrom('places').select('id').execute()).map(({ id }) => id));
      const made = parsed({ ...place, id: freeId(place.name, ids) });
      await tx
        .insertInto('places')
        .values({
          id: made.id,
          name: made.name,
          place: textOf(made),
          from_id: from?.id ?? null,
          from_name: from?.name ?? null,
          changed_at: now(),
          deleted_at: null,
        })
        .execute();
      return made;
    });
    this.#changed();
    return this.get(checked.id);
  }

  /** 'Laptop (2)' where there is a 'Laptop'. */
  async #freeName(name: string): Promise<string> {
    const taken = new Set((await this.list()).map(({ place }) => place.name.toLowerCase()));
    for (let i = 2; ; i++) {
      const free = `${name.slice(0, 70)} (${i})`;
      if (!taken.has(free.toLowerCase())) return free;
    }
  }

  async #row(id: string): Promise<Omit<PlaceRow, 'seq'>> {
    const row = await this.#store
      .selectFrom('places')
      .selectAll()
      .where('id', '=', id)
      .where('deleted_at', 'is', null)
      .executeTakeFirst();
    if (!row) throw noPlace();
    return row;
  }
}

function knownBuiltIn(place: Place): KnownPlace {
  return { place, builtIn: true, from: null, changedAt: null };
}

function knownOwn({ id, name, place, from_id, from_name, changed_at }: Omit<PlaceRow, 'seq'>): KnownPlace {
  return {
    place: { ...(JSON.parse(place) as Omit<Place, 'id' | 'name'>), id, name },
    builtIn: false,
    from: from_id === null ? null : { placeId: from_id, name: from_name ?? from_id },
    changedAt: changed_at,
  };
}

/** What is changed is the user's from then on; what stays keeps its source. */
function withPatch(place: Place, patch: Partial<PlaceDraft>): Place {
  const sources = { ...place.sources };
  for (const [key, group] of Object.entries(groupOf) as [keyof typeof groupOf, keyof typeof sources][]) {
    const value = patch[key];
    if (value !== undefined && exactJson(value) !== exactJson(place[key])) sources[group] = setByUser;
  }
  return { ...place, ...patch, sources };
}

function parsed(place: Place): Place {
  const checked = placeSchema.safeParse(place);
  if (checked.success) return checked.data;
  const faults = checked.error.issues.map(({ path, message }) => `${path.join('.')}: ${message}`);
  throw new CodedError('REQUEST_INVALID', `The place is not as described: ${faults.join('; ')}.`);
}

function textOf({ id: _id, name: _name, ...rest }: Place): string {
  return exactJson(rest);
}

/** Letters, digits and hyphens of the name; a number where that is taken, also by what was deleted. */
function freeId(name: string, taken: ReadonlySet<string>): string {
  const words = name
    .normalize('NFKD')
    .toLowerCase()
    .replace(/[^a-z0-9]+/g, '-')
    .replace(/^-+|-+$/g, '');
  const stem = words === '' ? 'place' : words.slice(0, 60).replace(/-+$/, '');
  for (let i = 1; ; i++) {
    const id = i === 1 ? stem : `${stem}-${i}`;
    if (!taken.has(id) && !builtInById.has(id) && !reserved.has(id)) return id;
  }
}

async function refuseTaken(
  tx: Pick<Store, 'selectFrom'>,
  name: string,
  except: string | null,
): Promise<void> {
  const wanted = name.toLowerCase();
  const own = await tx.selectFrom('places').select(['id', 'name']).where('deleted_at', 'is', null).execute();
  const taken = [...builtInPlaces, ...own].find(
    (each) => each.name.toLowerCase() === wanted && each.id !== except,
  );
  if (taken)
    throw new CodedError(
      'REQUEST_INVALID',
      `There is already a place named “${taken.name}”; choose another name.`,
    );
}

function noPlace(): CodedError {
  return new CodedError('NOT_FOUND', 'There is no such place.');
}

function now(): string {
  return new Date().toISOString();
}
