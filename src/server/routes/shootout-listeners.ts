import { renderSVG } from 'uqr';
import { z } from 'zod';
import type { Bench } from '../../bench/bench.ts';
import type { ListenerRecord } from '../../bench/store/shootouts.ts';
import type { App } from '../app-type.ts';
import type { Sharing } from '../sharing.ts';
import { listenerOf, writtenOf } from '../shootout-answers.ts';
import {
  type Invitation,
  invitationSchema,
  newLink,
  newListener,
  remoteRequest,
  remoteWrittenSchema,
  type Sharing as SharingAnswer,
  sharingRequest,
  sharingSchema,
  shootoutListenerSchema,
} from '../shootout-api.ts';

const params = z.object({ id: z.string() });
const listenerParams = params.extend({ listenerId: z.string() });

/** Who listens: on this machine, in the local network, far away. */
export function shootoutListenerRoutes(app: App, bench: Bench, sharing: Sharing): void {
  const { invitations } = bench.shootouts;
  const invitation = (
    shootoutId: string,
    { listener, token }: { listener: ListenerRecord; token: string },
  ): Invitation => {
    const path = `/v/${token}`;
    const { addresses, id: shared } = sharing.state;
    const open = listener.where === 'network' && shared === shootoutId ? addresses : [];
    return {
      listener: listenerOf(listener),
      path,
      links: open.map((address) => {
        const url = `${address}${path}`;
        return { url, qrSvg: renderSVG(url, { ecc: 'M', border: 2 }) };
      }),
    };
  };

  app.post(
    '/api/shootouts/:id/listeners',
    {
      schema: {
        summary: 'Ask a listener; the link is told once',
        params,
        body: newListener,
        response: { 201: invitationSchema },
      },
    },
    async ({ params: { id }, body }, reply) =>
      reply.code(201).send(invitation(id, await invitations.invite(id, body))),
  );

  app.post(
    '/api/shootouts/:id/listeners/:listenerId/link',
    {
      schema: {
        summary: 'A new link for a listener; the old one is dead',
        params: listenerParams,
        body: newLink,
        response: { 200: invitationSchema },
      },
    },
    async ({ params: { id, listenerId }, body }) =>
      invitation(id, await invitations.inviteAgain(id, listenerId, body.hours)),
  );

  app.patch(
    '/api/shootouts/:id/listeners/:listenerId',
    {
      schema: {
        summary: 'Rename a listener',
        params: listenerParams,
        body: newListener.pick({ name: true }),
        response: { 200: shootoutListenerSchema },
      },
    },
    async ({ params: { id, listenerId }, body }) =>
      listenerOf(await invitations.rename(id, listenerId, body.name)),
  );

  app.delete(
    '/api/shootouts/:id/listeners/:listenerId',
    { schema: { summary: 'Withdraw a link or folder; votes stay', params: listenerParams } },
    async ({ params: { id, listenerId } }, reply) => {
      await invitations.withdraw(id, listenerId);
      return reply.code(204).send();
    },
  );

  app.post(
    '/api/shootouts/:id/remote',
    {
      schema: {
        summary: 'Write a folder for a listener far away',
        params,
        body: remoteRequest,
        response: { 201: remoteWrittenSchema },
      },
    },
    async ({ params: { id }, body }, reply) => {
      const inside = body.folder === undefined ? null : await bench.folders.resolve(body.folder);
      const { listener, ...written } = await bench.shootouts.writeRemote(id, body.name, inside);
      return reply.code(201).send({ ...writtenOf(written), listener: listenerOf(listener) });
    },
  );

  const answer = (): SharingAnswer => {
    const { id: shootoutId, addresses, ...state } = sharing.state;
    return { ...state, shootoutId, addresses: [...addresses] };
  };

  app.get(
    '/api/shootouts/sharing',
    { schema: { summary: 'What is shared in the local network', response: { 200: sharingSchema } } },
    async () => answer(),
  );

  app.put(
    '/api/shootouts/:id/sharing',
    {
      schema: {
        summary: 'Share a shoot-out in the local network, or end it',
        params,
        body: sharingRequest,
        response: { 200: sharingSchema },
      },
    },
    async ({ params: { id }, body }) => {
      await (body.on ? sharing.on(id, body.hours) : sharing.off(id));
      return answer();
    },
  );
}
