import { crossfadeSeconds, gainOf, type Sounds } from './sounds.ts';

/** Farther apart than this, two players are brought together again, s: about what is noticed as a jump when switching. */
const farApartSeconds = 0.03;
const fadeSteps = 4;

/**
 * Sounds that lie beside a page opened from disk. Such a page may neither read its neighbours nor send them through a graph;
 * players of the browser run side by side instead, and all but one are turned down. In step to some milliseconds.
 */
export class ElementSounds implements Sounds {
  readonly seconds: number;
  heard = 0;
  playing = false;
  readonly #players: readonly HTMLAudioElement[];
  #gain = 1;
  #fade: ReturnType<typeof setInterval> | undefined;

  private constructor(players: readonly HTMLAudioElement[]) {
    this.#players = players;
    this.seconds = Math.min(...players.map(({ duration }) => duration));
    // All begin again together, when the first is through.
    players[0]!.addEventListener('ended', () => this.#start(0));
    this.#set(1);
  }

  /** Resolves when all can be played; rejects where one cannot. */
  static async load(urls: readonly string[]): Promise<ElementSounds> {
    const players = await Promise.all(
      urls.map(
        (url) =>
          new Promise<HTMLAudioElement>((resolve, reject) => {
            const player = new Audio();
            player.preload = 'auto';
            player.addEventListener('canplaythrough', () => resolve(player), { once: true });
            player.addEventListener('error', () =>
              reject(new Error('A sound is missing. Is the folder “sounds” still beside this page?')),
            );
            player.src = url;
            player.load();
          }),
      ),
    );
    return new ElementSounds(players);
  }

  hear(index: number): void {
    const from = this.#players[this.heard]!;
    const to = this.#players[index]!;
    if (this.playing && Math.abs(from.currentTime - to.currentTime) > farApartSeconds)
      to.currentTime = from.currentTime;
    const before = this.heard;
    this.heard = index;
    clearInterval(this.#fade);
    if (!this.playing || before === index) {
      this.#set(1);
      return;
    }
    let step = 0;
    this.#fade = setInterval(
      () => {
        step++;
        this.#set(step / fadeSteps, before);
        if (step >= fadeSteps) clearInterval(this.#fade);
      },
      (1000 * crossfadeSeconds) / fadeSteps,
    );
  }

  play(): void {
    if (this.playing) return;
    this.playing = true;
    this.#start(this.position());
  }

  pause(): void {
    this.playing = false;
    for (const player of this.#players) player.pause();
  }

  position(): number {
    return this.#players[this.heard]!.currentTime;
  }

  setLevel(db: number): void {
    this.#gain = gainOf(db);
    this.#set(1);
  }

  close(): void {
    this.pause();
    clearInterval(this.#fade);
    for (const player of this.#players) player.removeAttribute('src');
  }

  #start(at: number): void {
    if (!this.playing) return;
    for (const player of this.#players) player.currentTime = at;
    for (const player of this.#players)
      player.play().catch(() => {
        this.playing = false;
      });
  }

  /** Turned down by volume, and by muting too: some phones leave the volume to their buttons. */
  #set(share: number, before = -1): void {
    this.#players.forEach((player, i) => {
      const gain = i === this.heard ? share : i === before ? 1 - share : 0;
      player.volume = gain * this.#gain;
      player.muted = gain === 0;
    });
  }
}
