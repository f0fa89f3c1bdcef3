import { CodedError } from '../../audio/coded-error.ts';
import { makeRounds } from '../../shootout/make-rounds.ts';
import { newId, randomLetters } from '../ids.ts';
import { type NewListenerRows, ShootoutListeners } from '../store/shootout-listeners.ts';
import { type ListenerRecord, type ShootoutRecord, ShootoutStore } from '../store/shootouts.ts';
import type { ShootoutTools } from './shootouts.ts';
import { newKey, newToken } from './tokens.ts';

/** Who is asked to listen, and by what: a link, or a folder. */
export class Invitations {
  readonly listeners: ShootoutListeners;
  readonly #store: ShootoutStore;
  readonly #tools: ShootoutTools;

  constructor(tools: ShootoutTools) {
    this.#tools = tools;
    this.#store = new ShootoutStore(tools.store);
    this.listeners = new ShootoutListeners(tools.store);
  }

  /** A new listener with a link; the token is told once. CodedError SHOOTOUT_STATE. */
  async invite(
    id: string,
    { name, where, hours }: { name: string; where: 'here' | 'network'; hours: number },
  ): Promise<{ listener: ListenerRecord; token: string }> {
    const { token, selector, hash } = newToken();
    const listenerId = await this.#addListener(id, {
      name,
      place: where,
      token_selector: selector,
      token_hash: hash,
      token_expires_at: this.#hoursFromNow(hours),
    });
    return { listener: await this.listener(id, listenerId), token };
  }

  /** A new link for a listener; the old one is dead. CodedError SHOOTOUT_STATE for a listener far away. */
  async inviteAgain(
    id: string,
    listenerId: string,
    hours: number,
  ): Promise<{ listener: ListenerRecord; token: string }> {
    const { where } = await this.listener(id, listenerId);
    if (where === 'folder')
      throw new CodedError('SHOOTOUT_STATE', 'A listener far away has a folder, and no link.');
    const { token, selector, hash } = newToken();
    await this.listeners.update(id, listenerId, {
      token_selector: selector,
      token_hash: hash,
      token_expires_at: this.#hoursFromNow(hours),
    });
    this.#tools.told(id);
    return { listener: await this.listener(id, listenerId), token };
  }

  /** A new listener far away. */
  async inviteFarAway(id: string, name: string): Promise<{ listener: ListenerRecord; folder: string }> {
    const folder = randomLetters();
    const listenerId = await this.#addListener(id, {
      name,
      place: 'folder',
      folder,
      folder_key: newKey(),
    });
    return { listener: await this.listener(id, listenerId), folder };
  }

  async rename(id: string, listenerId: string, name: string): Promise<ListenerRecord> {
    await this.listeners.update(id, listenerId, { name });
    this.#tools.told(id);
    return this.listener(id, listenerId);
  }

  async withdraw(id: string, listenerId: string): Promise<void> {
    await this.#store.get(id);
    await this.listeners.withdraw(id, listenerId);
    this.#tools.told(id);
  }

  async listener(id: string, listenerId: string): Promise<ListenerRecord> {
    const found = (await this.#store.get(id)).listeners.find((each) => each.id === listenerId);
    if (!found) throw new CodedError('NOT_FOUND', 'There is no such listener.');
    return found;
  }

  async #addListener(
    id: string,
    values: Omit<NewListenerRows['listener'], 'id' | 'shootout_id'>,
  ): Promise<string> {
    const shootout = await this.#store.get(id);
    const listenerId = newId();
    const cuts = new Map(
      (await this.#store.cuts(id)).map(({ section, stimulus, name }) => [`${section} ${stimulus}`, name]),
    );
    await this.listeners.add(id, {
      listener: { ...values, id: listenerId, shootout_id: id },
      drawn: (slot) => {
        const { letters, rounds } = makeRounds(shootout, {
          listeners: shootout.mostListeners ?? 0,
          rounds: shootout.mostRounds ?? undefined,
        })[slot];
        const named = rounds.map((round) => ({ handle: randomLetters(), round }));
        return {
          letters,
          rounds: named.map(({ handle, round }) => ({ handle, round: JSON.stringify(round) })),
          sounds: named.flatMap(({ handle, round }) =>
            placesOf(round, shootout).map(([place, stimulus]) => {
              const cut = cuts.get(`${round.section} ${stimulus}`);
              if (cut === undefined) throw new Error(`no cut of ${stimulus} in section ${round.section}`);
              return { handle: randomLetters(), round: handle, place, cut };
            }),
          ),
        };
      },
    });
    this.#tools.told(id);
    return listenerId;
  }

  #hoursFromNow(hours: number): string {
    return new Date(this.#tools.now().getTime() + hours * 3600_000).toISOString();
  }
}

/** What is heard at each place of a round; -1 is the open reference. */
function placesOf(
  round: ReturnType<typeof makeRounds>[number]['rounds'][number],
  { question }: Pick<ShootoutRecord, 'question'>,
): [place: number, stimulus: string][] {
  if (round.kind === 'preference')
    return [
      [0, round.firstId],
      [1, round.secondId],
    ];
  if (round.kind === 'abx')
    return [
      [0, round.aId],
      [1, round.bId],
      [2, round.x === 'a' ? round.aId : round.bId],
    ];
  const sliders = round.order.map((stimulus, i): [number, string] => [i, stimulus]);
  return question === 'damage' ? [[-1, 'reference'], ...sliders] : sliders;
}
