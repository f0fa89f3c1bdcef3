/** How often something may be done. */
export interface Rate {
  /** At once. */
  readonly burst: number;
  /** In the long run. */
  readonly perSecond: number;
}

/** Most callers remembered; whoever asks least recently is forgotten, and starts anew. */
const mostRemembered = 10_000;

/** Counts who asks how often: a bucket of tokens each, which fills again with time. */
export class RateLimit {
  readonly #rate: Rate;
  readonly #now: () => number;
  readonly #buckets = new Map<string, { tokens: number; at: number }>();

  /** @param now s, rising */
  constructor(rate: Rate, now: () => number = () => performance.now() / 1000) {
    this.#rate = rate;
    this.#now = now;
  }

  /** 0 when `who` may; otherwise the seconds until that is so again. */
  wait(who: string): number {
    const { burst, perSecond } = this.#rate;
    const now = this.#now();
    const before = this.#buckets.get(who);
    const tokens = before ? Math.min(burst, before.tokens + (now - before.at) * perSecond) : burst;
    const allowed = tokens >= 1;
    this.#buckets.delete(who);
    this.#buckets.set(who, { tokens: allowed ? tokens - 1 : tokens, at: now });
    if (this.#buckets.size > mostRemembered) {
      const [oldest] = this.#buckets.keys();
      this.#buckets.delete(oldest);
    }
    return allowed ? 0 : Math.max(1, Math.ceil((1 - tokens) / perSecond));
  }
}
