import type { Catalogue } from '../../catalogue/catalogue.ts';
import type { RunCounts } from '../../catalogue/looking/answers.ts';
import { Pace } from '../../catalogue/looking/pace.ts';
import { duration, thousands } from '../../judge/amounts.ts';
import { SurviveProgress } from '../survive-progress.ts';
import { canDraw } from '../terminal/can-draw.ts';

const drawnEveryMs = 1000;
const saidEveryMs = 30_000;

/** Tells on stderr how far a run is, with its rate and the time left: a line that moves on a terminal, a line now and then elsewhere. */
export class RunProgress {
  readonly #line: SurviveProgress;
  readonly #draws = canDraw(process.stderr);
  readonly #pace = new Pace();
  #saidMs = performance.now();
  #timer: NodeJS.Timeout | undefined;
  #over = false;

  constructor() {
    this.#line = new SurviveProgress(this.#draws);
  }

  say(text: string): void {
    this.#line.say(text);
  }

  onDatabase = (isThere: boolean): void => {
    this.say(
      isThere
        ? 'The database is back; the work goes on.'
        : 'The database does not answer. It is asked again; what is finished meanwhile is kept.',
    );
  };

  /** Looks at the run from now on. How often depends on how long looking takes: a million songs are not counted every second. */
  watch({ looking }: Catalogue, runId: string, isListing: () => boolean): void {
    const look = async (): Promise<void> => {
      const began = performance.now();
      const counts = await looking.counts(runId).catch(() => null);
      if (this.#over) return;
      if (counts) this.#tell(counts, isListing());
      const took = performance.now() - began;
      this.#timer = setTimeout(() => void look(), Math.max(drawnEveryMs, 20 * took));
    };
    void look();
  }

  end(): void {
    this.#over = true;
    clearTimeout(this.#timer);
    this.#line.end();
  }

  #tell(counts: RunCounts, isListing: boolean): void {
    const ended = counts.done + counts.failed + counts.stopped;
    const text = progressText(counts, { isListing, aMinute: this.#pace.note(ended, performance.now()) });
    if (this.#draws) this.#line.move(text, counts.total > 0 ? ended / counts.total : 0);
    else if (performance.now() - this.#saidMs >= saidEveryMs) {
      this.#saidMs = performance.now();
      this.say(text);
    }
  }
}

/** '1,200 of 50,000 songs, 3 failed · 212 a minute · 3 h 50 min left'. */
export function progressText(
  { total, done, failed, stopped }: RunCounts,
  { isListing, aMinute }: { isListing: boolean; aMinute: number | null },
): string {
  const ended = done + failed + stopped;
  const of = `${thousands(ended)} of ${thousands(total)} songs${isListing ? ' found so far' : ''}`;
  const parts = [failed > 0 ? `${of}, ${thousands(failed)} failed` : of];
  if (aMinute !== null && aMinute > 0) {
    parts.push(`${thousands(aMinute)} a minute`);
    if (!isListing && ended < total) parts.push(`${duration(((total - ended) / aMinute) * 60)} left`);
  }
  return parts.join(' · ');
}
