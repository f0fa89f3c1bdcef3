import { readFileSync } from 'node:fs';
import { expect, test } from 'vitest';
import { errorCodes } from '../audio/coded-error.ts';
import { errorStatus } from './error-status.ts';

test('docs/errors.md lists every code with its meaning and HTTP status', () => {
  const page = readFileSync(new URL('../../docs/errors.md', import.meta.url), 'utf8');
  const rows = [...page.matchAll(/^\| `(\w+)` \| (.+?) \| (\d+) \| .+? \|$/gm)].map(
    ([, code, meaning, status]) => [code, meaning, Number(status)],
  );
  const table = Object.entries(errorCodes).map(([code, meaning]) => [
    code,
    meaning,
    errorStatus[code as keyof typeof errorCodes],
  ]);
  expect(rows).toEqual(table);
});
