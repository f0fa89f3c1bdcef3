import { readFile } from 'node:fs/promises';
import { join } from 'node:path';
import { CodedError } from '../../audio/coded-error.ts';
import { stopsNow } from '../../places/walk-notes.ts';
import {
  type WalkNotebook,
  type WalkPageData,
  type WalkSync,
  walkFileSchema,
  walkNotebookSchema,
  walkPageSchema,
  walkSyncSchema,
} from '../../places/walk-shapes.ts';
import { isSecret, newToken, partsOfToken } from '../shootout/tokens.ts';
import { carriedPage, readSinglePage, type SinglePage } from '../single-page.ts';
import type { WalkRecord, WalkSounds, WalkStore } from '../store/walks.ts';
import { makeWalkSounds, soundsMadeOf } from './walk-sounds.ts';
import type { WalkTools } from './walk-tools.ts';

/** How long a page that is carried along can send notes by itself; its file is taken in for as long as the walk is there. */
const pageHours = 30 * 24;
const mostFileBytes = 2_000_000;

/** What notebooks are given and give: names, sounds and notes of one walk. */
export class Notebooks {
  readonly #tools: WalkTools;
  readonly #store: WalkStore;
  readonly #making = new Map<string, Promise<WalkSounds>>();

  constructor(tools: WalkTools, store: WalkStore) {
    this.#tools = tools;
    this.#store = store;
  }

  /** A new link to a walk; its token is told once. CodedError NOT_FOUND. */
  async link(walkId: string, hours: number): Promise<string> {
    await this.#store.get(walkId);
    const { token, selector, hash } = newToken();
    const expires = new Date(this.#tools.now().getTime() + hours * 3600_000).toISOString();
    await this.#store.addLink(walkId, selector, hash, expires);
    this.#tools.told(walkId);
    return token;
  }

  /** Every link and every page that was carried along is dead. */
  async withdraw(walkId: string): Promise<void> {
    await this.#store.get(walkId);
    await this.#store.withdrawLinks(walkId);
    this.#tools.told(walkId);
  }

  /** The walk whose link it is. @param only the one that may be entered by this door; null: any. CodedError WALK_REFUSED. */
  async enter(token: string, only: string | null): Promise<string> {
    const parts = partsOfToken(token);
    const found = parts && (await this.#store.findLink(parts.selector));
    // The comparison is made in any case: how long an answer takes tells nothing.
    const right = isSecret(parts?.secret ?? '', found?.hash ?? '0'.repeat(64));
    if (!found || !right || (only !== null && found.walkId !== only))
      throw refused('This link opens nothing here. Make a new one on the page of the walk.');
    if (found.expiresAt <= this.#tools.now().toISOString())
      throw refused('This link has run out. Make a new one on the page of the walk.');
    return found.walkId;
  }

  /** What a notebook is told; makes the excerpts when they are not there yet. */
  async notebook(walkId: string): Promise<WalkNotebook> {
    const walk = await this.#store.get(walkId);
    const { handles, seconds } = await this.#sounds(walk);
    const notes = await this.#store.notes(walkId);
    const names = [...walk.references.map(({ name }) => name), walk.title];
    return walkNotebookSchema.parse({
      notebook: walk.notebook,
      title: walk.title,
      sounds: handles.map((sound, i) => ({ name: names[i], sound })),
      seconds,
      stops: stopsNow(walk.stops, walk.references.length, notes),
      now: this.#tools.now().toISOString(),
    });
  }

  /** Path of one of the walk's excerpts. CodedError NOT_FOUND. */
  async soundPath(walkId: string, handle: string): Promise<string> {
    const walk = await this.#store.get(walkId);
    const { handles } = await this.#sounds(walk);
    if (!handles.includes(handle)) throw new CodedError('NOT_FOUND', 'There is no such sound.');
    return join(this.#tools.home.walksPath, walkId, `${handle}.wav`);
  }

  /** Takes notes in; when this resolves they are on the disk. CodedError WALK_NOTES_INVALID. */
  async take(walkId: string, sent: unknown): Promise<{ taken: number; before: number }> {
    const sync = walkSyncSchema.safeParse(typeof sent === 'string' ? parsed(sent) : sent);
    if (!sync.success)
      throw new CodedError('WALK_NOTES_INVALID', 'These notes are not as a notebook writes them.');
    return this.#take(walkId, sync.data);
  }

  /** Takes in the file of a notebook that was carried along. Twice is once. CodedError WALK_NOTES_INVALID. */
  async takeFile(walkId: string, sent: unknown): Promise<{ taken: number; before: number }> {
    const { notebook } = await this.#store.get(walkId);
    const file = walkFileSchema.safeParse(sent);
    if (!file.success || JSON.stringify(sent).length > mostFileBytes)
      throw new CodedError('WALK_NOTES_INVALID', 'This is no file of notes, or it was damaged on the way.');
    if (file.data.notebook !== notebook)
      throw new CodedError('WALK_NOTES_INVALID', 'These notes were taken in the notebook of another walk.');
    const { device, stops, notes } = file.data;
    return this.#take(walkId, { device, stops, notes });
  }

  /** The page of notebooks. CodedError NOT_FOUND when it is not built. */
  page(): Promise<SinglePage> {
    return readSinglePage('notebook', this.#tools.notebookPagePath);
  }

  /**
   * A notebook with its sounds in one HTML file, to be opened without any network.
   *
   * @param addresses where the bench is reached while the walk is shared; the page may speak to these and no other
   */
  async carried(walkId: string, addresses: readonly string[]): Promise<{ html: string; name: string }> {
    const page = await this.page();
    const notebook = await this.notebook(walkId);
    const token = await this.link(walkId, pageHours);
    const data: WalkPageData = walkPageSchema.parse({
      format: 'everyroom-walk-page/1',
      notebook,
      reach: addresses.map((address) => `${address}/w/${token}`),
    });
    const sounds = await Promise.all(
      notebook.sounds.map(async ({ sound }) => ({
        id: `sound-${sound}`,
        type: 'text/plain' as const,
        text: (await readFile(await this.soundPath(walkId, sound))).toString('base64'),
      })),
    );
    const told = { id: 'everyroom-walk', type: 'application/json' as const, text: JSON.stringify(data) };
    const connect = addresses.length > 0 ? [`connect-src ${addresses.join(' ')}`] : [];
    return { html: carriedPage(page, [told, ...sounds], connect), name: `${notebook.title} walk.html` };
  }

  async #take(walkId: string, sync: WalkSync): Promise<{ taken: number; before: number }> {
    const { taken } = await this.#store.take(walkId, sync, this.#tools.now());
    if (taken > 0 || sync.stops.length > 0) this.#tools.told(walkId);
    return { taken, before: sync.notes.length - taken };
  }

  /** Made once, also when asked for twice at once. */
  #sounds(walk: WalkRecord): Promise<WalkSounds> {
    if (walk.sounds?.madeOf === soundsMadeOf(walk)) return Promise.resolve(walk.sounds);
    const running = this.#making.get(walk.id);
    if (running) return running;
    const making = (async () => {
      const made = await makeWalkSounds(this.#tools.home, this.#tools.workshop, walk);
      await this.#store.update(walk.id, { sounds: JSON.stringify(made) });
      return made;
    })().finally(() => this.#making.delete(walk.id));
    this.#making.set(walk.id, making);
    return making;
  }
}

function parsed(text: string): unknown {
  try {
    return JSON.parse(text);
  } catch {
    return null;
  }
}

function refused(sentence: string): CodedError {
  return new CodedError('WALK_REFUSED', sentence);
}
