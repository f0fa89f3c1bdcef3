import { CodedError } from '../../audio/coded-error.ts';
import type { Brief } from '../../judge/brief-words.ts';
import { readSinglePage, type SinglePage } from '../single-page.ts';
import type { ListenerRecord } from '../store/shootouts.ts';
import { Invitations } from './invitations.ts';
import { Outcomes } from './outcome.ts';
import { Outgoing, type WrittenFiles } from './outgoing.ts';
import { fillPack, type PackFitness, packFitness } from './pack.ts';
import { planOf, type ShootoutPlan, type ShootoutSize, whatIsMissing } from './plan.ts';
import { fillRemote } from './remote.ts';
import { Shootouts, type ShootoutTools } from './shootouts.ts';
import { VotingBooth } from './voting-booth.ts';

/** Everything about shoot-outs: the host's desk, the booth that voters enter, what goes out and what comes of it. */
export class ShootoutRoom {
  readonly host: Shootouts;
  readonly invitations: Invitations;
  readonly booth: VotingBooth;
  readonly outcomes: Outcomes;
  readonly outgoing: Outgoing;
  readonly #tools: ShootoutTools;

  constructor(tools: ShootoutTools) {
    const { home, store, told, now } = tools;
    this.#tools = tools;
    this.host = new Shootouts(tools);
    this.invitations = new Invitations(tools);
    this.booth = new VotingBooth(home, store, told, now);
    this.outcomes = new Outcomes(tools, this.host.store, this.invitations.listeners);
    this.outgoing = new Outgoing(home);
  }

  /** Whether the mix is fit to be sent out. */
  async packFitness(id: string): Promise<PackFitness> {
    const { home, workshop } = this.#tools;
    return packFitness(home, workshop, await this.host.store.get(id));
  }

  /** Writes what goes out to makers. @param inside see Outgoing */
  async writePack(id: string, brief: Brief, inside: string | null): Promise<WrittenFiles> {
    const { home, workshop } = this.#tools;
    const shootout = await this.host.store.get(id);
    return this.outgoing.write(inside, `${shootout.title} for mastering`, (path) =>
      fillPack(path, home, workshop, shootout, brief),
    );
  }

  /** The page for voters. CodedError NOT_FOUND when it is not built. */
  voterPage(): Promise<SinglePage> {
    return readSinglePage('voter', this.#tools.voterPagePath);
  }

  /** What a shoot-out of this size could tell. CodedError SHOOTOUT_STATE while something is missing. */
  async plan(id: string, size: ShootoutSize): Promise<ShootoutPlan> {
    const shootout = await this.host.store.get(id);
    const missing = whatIsMissing(shootout);
    if (missing !== null) throw new CodedError('SHOOTOUT_STATE', missing);
    return planOf(shootout, size, this.#tools.workshop);
  }

  /** Makes a listener far away and the folder for it. When the folder cannot be written there is no listener either. */
  async writeRemote(
    id: string,
    name: string,
    inside: string | null,
  ): Promise<WrittenFiles & { listener: ListenerRecord }> {
    const { title } = await this.host.store.get(id);
    const { listener, folder } = await this.invitations.inviteFarAway(id, name);
    try {
      // The folder's name tells no more than the song's title, which its listener knows.
      const page = await this.voterPage();
      const written = await this.outgoing.write(inside, `${title} to listen to`, (path) =>
        fillRemote(path, this.#tools.home, this.booth, folder, page),
      );
      return { ...written, listener };
    } catch (error) {
      await this.invitations.withdraw(id, listener.id);
      throw error;
    }
  }
}
