import { createHash, createHmac, randomBytes, timingSafeEqual } from 'node:crypto';
import { randomLetters } from '../ids.ts';

/** By the first part of a token it is found; only the second, 130 bits, is secret, and of that only the hash is kept. */
const selectorLength = 10;
const secretLength = 26;
const tokenShape = /^[a-z2-7]{36}$/;

/** A new token for a voter's link, and what is kept of it. */
export function newToken(): { token: string; selector: string; hash: string } {
  const [selector, secret] = [randomLetters(selectorLength), randomLetters(secretLength)];
  return { token: selector + secret, selector, hash: hashOf(secret) };
}

/** The two parts of what may be a token; null where it cannot be one. */
export function partsOfToken(token: string): { selector: string; secret: string } | null {
  if (!tokenShape.test(token)) return null;
  return { selector: token.slice(0, selectorLength), secret: token.slice(selectorLength) };
}

/** Compared in constant time. */
export function isSecret(secret: string, hash: string): boolean {
  return sameHex(hashOf(secret), hash);
}

/** A new key for the vote file of a folder: 256 bits, hexadecimal. */
export function newKey(): string {
  return randomBytes(32).toString('hex');
}

/** HMAC-SHA-256 of a text, hexadecimal. @param key hexadecimal */
export function signatureOf(text: string, key: string): string {
  return createHmac('sha256', Buffer.from(key, 'hex')).update(text, 'utf8').digest('hex');
}

/** Whether two hexadecimal texts of one length are equal, in constant time. */
export function sameHex(a: string, b: string): boolean {
  const [first, second] = [Buffer.from(a, 'hex'), Buffer.from(b, 'hex')];
  return first.length === second.length && timingSafeEqual(first, second);
}

function hashOf(secret: string): string {
  return createHash('sha256').update(secret).digest('hex');
}
