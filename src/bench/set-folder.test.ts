import { createHash } from 'node:crypto';
import { mkdtemp, rm, symlink, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import fc from 'fast-check';
import { expect, test } from 'vitest';
import { CodedError } from '../audio/coded-error.ts';
import { parseSetList, readSetFolder } from './set-folder.ts';

const sha256 = createHash('sha256').update('sound').digest('hex');
const reference = { file: 'a.wav', title: 'A', name: 'a.wav', sha256, bytes: 5 };
const list = { everyroom: 'reference set', version: 1, name: 'Evenings', references: [reference] };

test('no text can make a list name a file elsewhere, or fail otherwise than it should', () => {
  const mostly = <T, U>(usual: T, ...others: fc.Arbitrary<U>[]) =>
    fc.oneof({ weight: 8, arbitrary: fc.constant<T | U>(usual) }, ...others);
  const file = fc.oneof(
    fc.string({ unit: 'binary', maxLength: 20 }),
    fc.constantFrom('..', '../x', 'a/b', 'a\\b', 'C:x', '.hidden', '', 'x\0y', '/etc/x', 'ok.wav'),
  );
  const given = fc.record({
    everyroom: mostly('reference set', fc.string()),
    version: mostly(1, fc.constantFrom(2, '1')),
    name: fc.string({ unit: 'binary' }),
    references: fc.array(
      fc.record({
        file,
        title: fc.string({ unit: 'binary' }),
        name: mostly('a.wav', fc.string()),
        sha256: mostly(sha256, fc.string()),
        bytes: mostly(5, fc.constantFrom(0, -1, 1e300, 0.5, 'x')),
      }),
      { maxLength: 2 },
    ),
  });
  const text = fc.oneof(fc.string(), fc.json(), {
    weight: 6,
    arbitrary: given.map((each) => JSON.stringify(each)),
  });
  let taken = 0;
  fc.assert(
    fc.property(text, (written) => {
      try {
        for (const each of parseSetList(written, 'x').references) {
          taken++;
          expect(join('/set', each.file)).toBe(`/set/${each.file}`);
          expect(each.file).not.toMatch(/^\.|[/\\:\0]/);
        }
      } catch (error) {
        if (!(error instanceof CodedError)) throw error;
        expect(error.code).toBe('SET_INVALID');
      }
    }),
    { seed: 4, numRuns: 600 },
  );
  expect(taken).toBeGreaterThan(30);
});

test('a folder is taken only when every file is a plain file with the bytes that the list names', async () => {
  const folder = await mkdtemp(join(tmpdir(), 'everyroom-set-'));
  try {
    const at = (name: string) => join(folder, name);
    const write = (references: unknown) => writeFile(at('set.json'), JSON.stringify({ ...list, references }));
    const read = () =>
      readSetFolder(folder).then(
        ({ references }) => references.length,
        (error: CodedError) => error.code,
      );
    expect(await read()).toBe('SET_INVALID');
    await write([reference]);
    expect(await read()).toBe('SET_INVALID');
    await writeFile(at('a.wav'), 'sound');
    expect(await read()).toBe(1);
    await write([reference, { ...reference, file: 'A.WAV' }]);
    expect(await read()).toBe('SET_INVALID');
    await write([{ ...reference, bytes: 6 }]);
    expect(await read()).toBe('SET_INVALID');
    await write([reference]);
    await writeFile(at('a.wav'), 'soUnd');
    expect(await read()).toBe('SET_INVALID');
    await rm(at('a.wav'));
    await writeFile(at('b.wav'), 'sound');
    await symlink(at('b.wav'), at('a.wav'));
    expect(await read()).toBe('SET_INVALID');
    await writeFile(at('set.json'), ' '.repeat(2 ** 21));
    expect(await read()).toBe('SET_INVALID');
    expect(await readSetFolder(at('none')).catch(({ code }: CodedError) => code)).toBe('FILE_NOT_FOUND');
  } finally {
    await rm(folder, { recursive: true });
  }
});
