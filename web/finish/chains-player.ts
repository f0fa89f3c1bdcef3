import type { Chain } from '../../src/finish/chain.ts';
import type { DeskPlayer, PlayerSource, PlayerState } from '../desk/desk-player.ts';

/** One way in which the version can be heard here. */
export interface Take {
  readonly id: string;
  /** null: as the version is. */
  readonly chain: Chain | null;
  /** Level matching, dB, at most 0: through the chain, and without it. */
  readonly gainDb: number;
  readonly dryGainDb: number;
}

/**
 * The desk's player with one version through several chains: what the desk knows as that version is here every take, in
 * step, of which one is heard.
 */
export class ChainsPlayer implements DeskPlayer {
  readonly #player: DeskPlayer;
  #base: PlayerSource | null = null;
  #lengthSeconds = 0;
  #takes: readonly Take[] = [];
  #heard = '';

  constructor(player: DeskPlayer) {
    this.#player = player;
  }

  /** Until there are takes, nothing is given to the player. */
  setTakes(takes: readonly Take[]): void {
    this.#takes = takes;
    this.#give();
  }

  hear(id: string): void {
    this.#heard = id;
    if (this.#takes.some((take) => take.id === id)) this.#player.choose(id);
  }

  setSources([base]: readonly PlayerSource[], lengthSeconds: number): void {
    this.#base = base ?? null;
    this.#lengthSeconds = lengthSeconds;
    this.#give();
  }

  /** The desk knows one sound only; which take is heard is said by `hear`. */
  choose(): void {
    this.hear(this.#heard);
  }

  #give(): void {
    const base = this.#base;
    if (!base || this.#takes.length === 0) return;
    this.#player.setSources(
      this.#takes.map(({ id, chain, gainDb, dryGainDb }) => ({
        ...base,
        id,
        gainDb,
        chain: chain && { chain, dryGainDb },
      })),
      this.#lengthSeconds,
    );
    if (this.#player.state.chosen !== this.#heard) this.hear(this.#heard);
  }

  get state(): PlayerState {
    return this.#player.state;
  }
  subscribe: DeskPlayer['subscribe'] = (listener) => this.#player.subscribe(listener);
  position: DeskPlayer['position'] = () => this.#player.position();
  play: DeskPlayer['play'] = () => this.#player.play();
  pause: DeskPlayer['pause'] = () => this.#player.pause();
  seek: DeskPlayer['seek'] = (seconds) => this.#player.seek(seconds);
  setLoop: DeskPlayer['setLoop'] = (loop) => this.#player.setLoop(loop);
  setHearing: DeskPlayer['setHearing'] = (hearing) => this.#player.setHearing(hearing);
  setPlace: DeskPlayer['setPlace'] = (place) => this.#player.setPlace(place);
  work: DeskPlayer['work'] = () => this.#player.work();
  setNoise: DeskPlayer['setNoise'] = (on) => this.#player.setNoise(on);
  takeExposure: DeskPlayer['takeExposure'] = () => this.#player.takeExposure();
  close: DeskPlayer['close'] = () => this.#player.close();
}
