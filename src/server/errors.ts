import type { FastifyError, FastifyInstance, FastifyReply } from 'fastify';
import { hasZodFastifySchemaValidationErrors } from 'fastify-type-provider-zod';
import { CodedError, type ErrorCode } from '../audio/coded-error.ts';
import { storageError, systemCode } from '../bench/storage-error.ts';
import type { ApiError } from './api.ts';
import { errorStatus } from './error-status.ts';

/** Gives every error the one shape (ApiError) and its status. Faults of ours go to `report` whole and out without detail. */
export function answerErrors(app: FastifyInstance, report: (error: unknown) => void): void {
  app.setErrorHandler((error: FastifyError, _request, reply) => sendError(reply, error, report));
}

/** The answer to one error. */
export function sendError(
  reply: FastifyReply,
  thrown: FastifyError | Error,
  report: (error: unknown) => void,
): FastifyReply {
  const { status, code, message } = describe(thrown);
  if (status >= 500 && code !== 'DISK_FULL') report(thrown);
  const body: ApiError = { error: { code, message } };
  // Serialised here: the route's own schemas are for its answers.
  return reply.code(status).type('application/json; charset=utf-8').serializer(JSON.stringify).send(body);
}

function describe(thrown: FastifyError | Error): { status: number; code: ErrorCode; message: string } {
  if (thrown instanceof CodedError) return coded(thrown);
  if (hasZodFastifySchemaValidationErrors(thrown)) {
    const faults = thrown.validation.map(
      ({ instancePath, message }) =>
        `${instancePath.slice(1).replaceAll('/', '.') || 'the body'}: ${message}`,
    );
    return coded(new CodedError('REQUEST_INVALID', `The request is not as described: ${faults.join('; ')}.`));
  }
  const status = 'statusCode' in thrown ? thrown.statusCode : undefined;
  if (status !== undefined && status >= 400 && status < 500)
    return { status, code: 'REQUEST_INVALID', message: thrown.message };
  if (systemCode(thrown).startsWith('SQLITE_') || systemCode(thrown) === 'ENOSPC')
    return coded(storageError(thrown, 'The data folder'));
  return {
    status: 500,
    code: 'INTERNAL',
    message: 'A fault in Everyroom itself. The terminal it runs in shows more.',
  };
}

function coded({ code, message }: CodedError): { status: number; code: ErrorCode; message: string } {
  return { status: errorStatus[code], code, message };
}
