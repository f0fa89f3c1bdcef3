import { createHash } from 'node:crypto';
import { CodedError } from '../../audio/coded-error.ts';
import { type PlacesReport, placesReportSchema } from '../../judge/places-report.ts';
import type { Place } from '../../places/place.ts';
import { audioFilePath } from '../audio-store.ts';
import type { BenchEvents } from '../events.ts';
import type { Home } from '../home.ts';
import { exactJson, keyJson } from '../json.ts';
import type { Workshop } from '../run-task.ts';
import type { PlacesSettings, Version } from '../shapes.ts';
import type { Store } from '../store/database.ts';
import type { ReferenceSet } from '../store/sets.ts';
import { figuresHash } from './effects.ts';
import { PlaceLibrary } from './library.ts';
import { Measurings } from './measurings.ts';
import { type NamedFile, songInPlaces } from './song-places.ts';

export interface PlacesRoomParts {
  readonly home: Home;
  readonly store: Store;
  readonly workshop: Workshop;
  readonly events: BenchEvents;
  readonly report: (error: unknown) => void;
  version(id: string): Promise<Version>;
  set(id: string): Promise<ReferenceSet>;
}

/** A song in places as it is kept. */
export interface KeptPlaces {
  readonly settings: PlacesSettings;
  readonly report: PlacesReport;
  /** Whether places or references have been changed since. */
  readonly stale: boolean;
  readonly madeAt: string;
}

interface Watched {
  readonly name: string;
  readonly sha256: string;
  readonly signal: AbortSignal;
  onProgress(stage: string, fraction: number): void;
}

/** What settings stand for now. */
interface Meant {
  readonly places: readonly Place[];
  readonly setName: string | null;
  readonly references: readonly Version[];
  readonly lead: { readonly how: 'stem' | 'instrumental'; readonly version: Version } | null;
}

/** Places on the bench: the library, versions heard in them, and measuring them. */
export class PlacesRoom {
  readonly library: PlaceLibrary;
  readonly measurings: Measurings;
  readonly #parts: PlacesRoomParts;

  constructor(parts: PlacesRoomParts) {
    this.#parts = parts;
    const { store, events } = parts;
    this.library = new PlaceLibrary(store, () => events.emit('places', {}));
    this.measurings = new Measurings(parts, this.library);
  }

  /** CodedError NOT_FOUND, REQUEST_INVALID: settings that cannot be. */
  async check(version: Version, settings: PlacesSettings): Promise<void> {
    if (settings.leadVersionId !== null && settings.instrumentalVersionId !== null)
      throw new CodedError(
        'REQUEST_INVALID',
        'Name the lead alone or the song without it, not both: one follows from the other.',
      );
    if (settings.setId !== null && settings.referenceIds.length > 0)
      throw new CodedError('REQUEST_INVALID', 'Name a reference set or references, not both.');
    const { lead } = await this.#meant(settings);
    if (lead && lead.version.songId !== version.songId)
      throw new CodedError('REQUEST_INVALID', `“${lead.version.name}” belongs to another song.`);
  }

  /** Works a version out; the answer keeps it in the transaction that it is given. Rejects as songInPlaces does. */
  async work(
    versionId: string,
    settings: PlacesSettings,
    { name, sha256, signal, onProgress }: Watched,
  ): Promise<(tx: Pick<Store, 'insertInto'>) => Promise<void>> {
    const { home, workshop } = this.#parts;
    const meant = await this.#meant(settings);
    const { places, setName, references, lead } = meant;
    const file = (version: Pick<Version, 'name' | 'sha256'>): NamedFile => ({
      path: audioFilePath(home, version.sha256),
      name: version.name,
      sha256: version.sha256,
    });
    const report = await songInPlaces(
      {
        song: file({ name, sha256 }),
        references: references.map(file),
        setName,
        places,
        level: settings.level,
        lead: lead && { how: lead.how, file: file(lead.version) },
        signal,
        onProgress,
      },
      workshop,
    );
    return async (tx) => {
      await tx
        .insertInto('place_reports')
        .orReplace()
        .values({
          version_id: versionId,
          settings: exactJson(settings),
          report: exactJson(report),
          made_of: madeOf(meant),
          made_at: new Date().toISOString(),
        })
        .execute();
    };
  }

  /** What is kept of a version, under its present name; null when nothing is, or in the shape of another release. */
  async kept(version: Version): Promise<KeptPlaces | null> {
    const row = await this.#parts.store
      .selectFrom('place_reports')
      .selectAll()
      .where('version_id', '=', version.id)
      .executeTakeFirst();
    if (!row) return null;
    const report = placesReportSchema.safeParse(JSON.parse(row.report));
    if (!report.success) return null;
    const settings = JSON.parse(row.settings) as PlacesSettings;
    const meant = await this.#meant(settings).catch(() => null);
    return {
      settings,
      report: { ...report.data, file: { ...report.data.file, name: version.name } },
      stale: meant === null || madeOf(meant) !== row.made_of,
      madeAt: row.made_at,
    };
  }

  async #meant(settings: PlacesSettings): Promise<Meant> {
    const { version, set } = this.#parts;
    const places =
      settings.placeIds === null
        ? await this.library.list()
        : await Promise.all([...new Set(settings.placeIds)].map((id) => this.library.get(id)));
    const of = settings.setId === null ? null : await set(settings.setId);
    const ids = of ? of.members.map(({ versionId }) => versionId) : settings.referenceIds;
    const leadId = settings.leadVersionId ?? settings.instrumentalVersionId;
    return {
      places: places.map(({ place }) => place),
      setName: of?.name ?? null,
      references: await Promise.all([...new Set(ids)].map(version)),
      lead:
        leadId === null
          ? null
          : {
              how: settings.leadVersionId === null ? 'instrumental' : 'stem',
              version: await version(leadId),
            },
    };
  }
}

function madeOf({ places, references, lead }: Meant): string {
  const what = {
    places: places.map((place) => [place.id, place.name, figuresHash(place), place.levels]),
    references: references.map(({ sha256 }) => sha256).sort(),
    lead: lead && [lead.how, lead.version.sha256],
  };
  return createHash('sha256').update(keyJson(what)).digest('hex');
}
