import { basename } from 'node:path';
import { CodedError } from '../audio/coded-error.ts';
import type { LossyFormat } from '../survive/round-trip-result.ts';
import type { FormatFailure } from '../survive/survive-report.ts';
import type { Task } from './tasks/task.ts';

export function failureOf({ id, label }: LossyFormat, { code, message }: CodedError): FormatFailure {
  return { formatId: id, format: label, code, reason: message };
}

/** Whether one format stopped, and not the whole run. */
export function isFormatFault(error: unknown): error is CodedError {
  return error instanceof CodedError && error.code !== 'JOB_CANCELLED';
}

/** A hang is met after a minute and five seconds a MiB of sound: far above what any machine needs. */
export function limited<Options, Output>(
  task: Task<Options, Output>,
  { frames, channels }: { readonly frames: number; readonly channels: number },
): Task<Options, Output> {
  const mebibytes = (frames * channels * 4) / 2 ** 20;
  return { ...task, timeLimitSeconds: 60 + 5 * mebibytes };
}

/** Files in the store are called by their hash, which tells a person nothing: the sentence gets the name they know. */
export function named(error: unknown, path: string, name: string): unknown {
  if (!(error instanceof CodedError) || !error.message.includes(basename(path))) return error;
  return new CodedError(
    error.code,
    error.message.replaceAll(basename(path), () => name),
    { cause: error },
  );
}
