import { randomBytes } from 'node:crypto';

/** A new id: 16 hex digits of chance, nothing that could be read as a path or an option. */
export function newId(): string {
  return randomBytes(8).toString('hex');
}
