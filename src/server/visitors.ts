import type { FastifyError, FastifyReply } from 'fastify';
import { CodedError, type ErrorCode } from '../audio/coded-error.ts';
import { sendError } from './errors.ts';
import { type Rate, RateLimit } from './rate-limit.ts';

/** More than a person makes, and enough for a phone that has lost its line and tries again (by feel). */
const perVisitor: Rate = { burst: 60, perSecond: 4 };
/** Of one address; behind one there may be a whole room of voters. */
const perAddress: Rate = { burst: 3000, perSecond: 150 };
/** Links that open nothing, of one address. Nobody guesses 130 bits; this keeps the attempts from costing anything. */
const perWrongLink: Rate = { burst: 20, perSecond: 0.2 };

/** What a visitor may be told; anything else is a fault of ours, told without a word of detail. */
const tellable: ReadonlySet<ErrorCode> = new Set([
  'VOTER_REFUSED',
  'VOTE_REFUSED',
  'WALK_REFUSED',
  'REVIEW_REFUSED',
  'WALK_NOTES_INVALID',
  'TOO_MANY_REQUESTS',
  'NOT_FOUND',
  'REQUEST_INVALID',
  'REQUEST_FORBIDDEN',
]);

/** How often those who came by a link may ask; one for each door. */
export class VisitorLimits {
  readonly #visitor = new RateLimit(perVisitor);
  readonly #address = new RateLimit(perAddress);
  readonly #wrong = new RateLimit(perWrongLink);

  /** Throws CodedError TOO_MANY_REQUESTS, with the header that says how long to wait. */
  address(reply: FastifyReply, address: string): void {
    orWait(reply, this.#address.wait(address));
  }

  visitor(reply: FastifyReply, id: string): void {
    orWait(reply, this.#visitor.wait(id));
  }

  wrongLink(reply: FastifyReply, address: string): void {
    orWait(reply, this.#wrong.wait(address));
  }
}

/** The error as a visitor gets it. */
export function sendVisitorError(
  reply: FastifyReply,
  error: FastifyError | Error,
  report: (error: unknown) => void,
): FastifyReply {
  if (!(error instanceof CodedError) || tellable.has(error.code)) return sendError(reply, error, report);
  report(error);
  const fault = new CodedError('INTERNAL', 'Something went wrong on the other side. Try again in a moment.');
  return sendError(reply, fault, () => {});
}

function orWait(reply: FastifyReply, seconds: number): void {
  if (seconds === 0) return;
  reply.header('retry-after', String(seconds));
  throw new CodedError(
    'TOO_MANY_REQUESTS',
    `That is more than a person asks for. Wait ${seconds} s and try again; nothing is lost.`,
  );
}

/** The page runs its own scripts and nothing else, and speaks to this server alone. */
export function visitorPagePolicy(scriptHashes: readonly string[]): string {
  return [
    "default-src 'none'",
    `script-src ${scriptHashes.map((hash) => `'${hash}'`).join(' ') || "'none'"}`,
    "style-src 'unsafe-inline'",
    "connect-src 'self'",
    "media-src 'self' blob:",
    'img-src data:',
    "base-uri 'none'",
    "form-action 'none'",
    "frame-ancestors 'none'",
  ].join('; ');
}
