import { randomBytes } from 'node:crypto';

/** A new id: 16 hex digits of chance, nothing that could be read as a path or an option. */
export function newId(): string {
  return randomBytes(8).toString('hex');
}

const letters = 'abcdefghijklmnopqrstuvwxyz234567';

/** Chance in the 32 letters of base 32, five bits each; 26 of them are 130 bits. */
export function randomLetters(length = 26): string {
  return Array.from(randomBytes(length), (byte) => letters[byte % 32]).join('');
}
