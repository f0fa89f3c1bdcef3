import { expect, test } from 'vitest';
import { isPrivate } from './sharing.ts';

test.each(['10.0.0.1', '172.16.0.1', '172.31.255.255', '192.168.1.20', '169.254.7.7', 'fd00::1'])(
  '%s is of a local network',
  (address) => expect(isPrivate(address)).toBe(true),
);

test.each([
  '8.8.8.8',
  '172.15.0.1',
  '172.32.0.1',
  '192.169.0.1',
  '100.64.0.1',
  '2001:db8::1',
  'fe80::1',
  '::1',
])('%s is not', (address) => expect(isPrivate(address)).toBe(false));
