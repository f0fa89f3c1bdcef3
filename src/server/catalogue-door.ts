import { Catalogue, type CatalogueOptions } from '../catalogue/catalogue.ts';
import { Pace } from '../catalogue/looking/pace.ts';

/** Runs whose pace is remembered at most. */
const mostPaces = 16;

/**
 * The catalogue as the server has it: opened when somebody first asks, so that a database that is away keeps nobody from the bench.
 * What goes wrong with the database is told in words.
 */
export class CatalogueDoor {
  readonly #options: CatalogueOptions;
  #opened: Promise<Catalogue> | null = null;
  readonly #paces = new Map<string, Pace>();

  constructor(options: CatalogueOptions) {
    this.#options = options;
  }

  async use<T>(ask: (catalogue: Catalogue) => Promise<T>): Promise<T> {
    this.#opened ??= Catalogue.open(this.#options);
    let catalogue: Catalogue;
    try {
      catalogue = await this.#opened;
    } catch (error) {
      // Asked again the next time: it may be there by then.
      this.#opened = null;
      throw error;
    }
    try {
      return await ask(catalogue);
    } catch (error) {
      throw catalogue.explain(error);
    }
  }

  /** Songs a minute of a run that goes on; null while too little was seen. */
  pace(runId: string, ended: number): number | null {
    const pace = this.#paces.get(runId) ?? new Pace();
    this.#paces.set(runId, pace);
    for (const oldest of this.#paces.keys()) {
      if (this.#paces.size <= mostPaces) break;
      this.#paces.delete(oldest);
    }
    return pace.note(ended, performance.now());
  }

  async close(): Promise<void> {
    const catalogue = await this.#opened?.catch(() => null);
    await catalogue?.close();
  }
}
