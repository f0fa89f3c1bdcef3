/** The rate is that of the last while: of a long run the beginning says little. */
const overMs = 60_000;
/** A rate of less than this long would jump about. */
const leastMs = 2000;

/** How fast a run goes, told from looking at it now and then. */
export class Pace {
  #seen: { readonly atMs: number; readonly ended: number }[] = [];

  /** Takes note of how many songs have ended by now (`atMs` by any clock that only goes forward); gives songs a minute, null while too little was seen. */
  note(ended: number, atMs: number): number | null {
    this.#seen.push({ atMs, ended });
    while (this.#seen.length > 2 && atMs - this.#seen[1].atMs > overMs) this.#seen.shift();
    const [first] = this.#seen;
    return atMs - first.atMs < leastMs ? null : ((ended - first.ended) / (atMs - first.atMs)) * 60_000;
  }
}
