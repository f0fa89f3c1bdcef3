import { printable } from './terminal/printable.ts';

/**
 * Tells on stderr how far a survive run is: lasting lines for what stands (the estimate, each finished format), and on
 * a terminal a last line that moves.
 */
export class SurviveProgress {
  readonly #draws: boolean;
  #drawn = false;

  constructor(draws: boolean) {
    this.#draws = draws;
  }

  /** A line that stays. */
  say(text: string): void {
    this.#wipe();
    process.stderr.write(`${printable(text)}\n`);
  }

  move(stage: string, fraction: number): void {
    if (!this.#draws) return;
    const room = Math.max(20, process.stderr.columns - 1);
    const text = `${`${Math.floor(fraction * 100)}`.padStart(3)} % ${printable(stage)}`;
    process.stderr.write(`\r\u001b[K${text.slice(0, room)}`);
    this.#drawn = true;
  }

  end(): void {
    this.#wipe();
  }

  #wipe(): void {
    if (this.#drawn) process.stderr.write('\r\u001b[K');
    this.#drawn = false;
  }
}
