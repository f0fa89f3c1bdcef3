import { CodedError } from '../../audio/coded-error.ts';
import { audioFilePath } from '../audio-store.ts';
import { isSecret, newToken, partsOfToken } from '../shootout/tokens.ts';
import type { RecordStore, Review } from '../store/records.ts';
import type { RecordTools } from './record-tools.ts';

/** What somebody with a link hears and sees. */
export interface ReviewSheet {
  readonly versionId: string;
  readonly sha256: string;
  readonly songTitle: string;
  readonly versionName: string;
  /** Who the link is for. */
  readonly name: string;
  readonly note: string;
  readonly words: readonly Review[];
  /** Whether these very bytes are approved now. */
  readonly approved: boolean;
}

/** Versions heard by others on the local network: links, approvals, wishes with their place in the song. */
export class Reviews {
  readonly #tools: Pick<RecordTools, 'home' | 'songs' | 'told' | 'now'>;
  readonly #store: RecordStore;

  constructor(tools: Pick<RecordTools, 'home' | 'songs' | 'told' | 'now'>, store: RecordStore) {
    this.#tools = tools;
    this.#store = store;
  }

  /** A new link to a version; its token is told once. CodedError NOT_FOUND. */
  async link(versionId: string, name: string, note: string, hours: number): Promise<string> {
    await this.#tools.songs.getVersion(versionId);
    const { token, selector, hash } = newToken();
    const expires_at = new Date(this.#tools.now().getTime() + hours * 3600_000).toISOString();
    await this.#store.addLink({ selector, version_id: versionId, hash, name, note, expires_at });
    return token;
  }

  async withdraw(versionId: string): Promise<void> {
    await this.#store.withdrawLinks(versionId);
    this.#tools.told(null);
  }

  /** @param only the version that may be entered by this door; null: any. CodedError REVIEW_REFUSED. */
  async enter(token: string, only: string | null): Promise<ReviewSheet> {
    const parts = partsOfToken(token);
    const found = parts && (await this.#store.findLink(parts.selector));
    // The comparison is made in any case: how long an answer takes tells nothing.
    const right = isSecret(parts?.secret ?? '', found?.hash ?? '0'.repeat(64));
    if (!found || !right || (only !== null && found.version_id !== only))
      throw new CodedError('REVIEW_REFUSED', 'This link opens nothing here. Ask for a new one.');
    if (found.expires_at <= this.#tools.now().toISOString())
      throw new CodedError('REVIEW_REFUSED', 'This link has run out. Ask for a new one.');
    const version = await this.#tools.songs.getVersion(found.version_id);
    const song = await this.#tools.songs.get(version.songId);
    const words = await this.#store.reviews(version.id);
    const last = words.filter(({ what }) => what !== 'wish').at(-1);
    return {
      versionId: version.id,
      sha256: version.sha256,
      songTitle: song.title,
      versionName: version.name,
      name: found.name,
      note: found.note,
      words,
      approved: last?.what === 'approved' && last.sha256 === version.sha256,
    };
  }

  /** Takes a word in; it is on the disk when this resolves. */
  async say(
    { versionId, sha256, name }: Pick<ReviewSheet, 'versionId' | 'sha256' | 'name'>,
    { what, text, atSeconds }: Pick<Review, 'what' | 'text' | 'atSeconds'>,
  ): Promise<void> {
    const at = this.#tools.now().toISOString();
    await this.#store.addReview({ versionId, sha256, what, by: name, text, atSeconds, at });
    this.#tools.told(null);
  }

  soundPath({ sha256 }: Pick<ReviewSheet, 'sha256'>): string {
    return audioFilePath(this.#tools.home, sha256);
  }
}
