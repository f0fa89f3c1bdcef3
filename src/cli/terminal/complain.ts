import { CodedError } from '../../audio/coded-error.ts';
import { printable } from './printable.ts';

/**
 * Says on stderr what went wrong: one sentence and its code, never a stack. A fault of ours asks for a report;
 * EVERYROOM_DEBUG shows its stack.
 */
export function complain(error: unknown): void {
  if (error instanceof CodedError) {
    process.stderr.write(`${printable(error.message)} (${error.code})\n`);
    return;
  }
  const reason = error instanceof Error ? error.message : String(error);
  process.stderr.write(`Everyroom itself failed: ${printable(reason)} (INTERNAL)\n`);
  if (process.env.EVERYROOM_DEBUG && error instanceof Error) process.stderr.write(`${error.stack}\n`);
}
