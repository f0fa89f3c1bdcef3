import fc from 'fast-check';
import { expect, test } from 'vitest';
import { z } from 'zod';
import { CodedError } from '../audio/coded-error.ts';
import { readChain } from './chain.ts';
import { chainJsonSchema } from './chain-schema.ts';
import { partKinds } from './kinds.ts';
import type { Setting, SettingFields } from './settings.ts';
import { startingChain } from './starting-chain.ts';

// Read by a library that knows JSON Schema and nothing of chains.
const schema = z.fromJSONSchema(JSON.parse(JSON.stringify(chainJsonSchema())));

function isRead(data: unknown): boolean {
  try {
    readChain(data);
    return true;
  } catch (error) {
    expect(error).toBeInstanceOf(CodedError);
    return false;
  }
}

const oddity = fc.constantFrom<unknown>(null, true, '', 'none', [], {}, -1e9, 0.5, 1e9);
const mostly = (usual: fc.Arbitrary<unknown>): fc.Arbitrary<unknown> =>
  fc.oneof({ weight: 30, arbitrary: usual }, { weight: 1, arbitrary: oddity });

function givenTo(setting: Setting): fc.Arbitrary<unknown> {
  switch (setting.kind) {
    case 'number': {
      const { lowest, highest, whole } = setting;
      const inside = whole
        ? fc.integer({ min: lowest, max: highest })
        : fc.double({ min: lowest, max: highest, noNaN: true });
      const near = fc.constantFrom(lowest, highest, lowest - 0.001, highest + 0.001);
      return mostly(fc.oneof({ weight: 20, arbitrary: inside }, { weight: 1, arbitrary: near }));
    }
    case 'choice':
      return mostly(fc.constantFrom(...setting.choices));
    case 'group':
      return mostly(settingsOf(setting.of));
    case 'list':
      return mostly(fc.array(settingsOf(setting.of), { maxLength: setting.most + 1, size: 'small' }));
  }
}

function settingsOf(fields: SettingFields): fc.Arbitrary<unknown> {
  const values = Object.fromEntries(Object.entries(fields).map(([name, each]) => [name, givenTo(each)]));
  return fc.record(values, { requiredKeys: [] });
}

const part = fc.oneof(
  ...partKinds.map(({ id, fields }) =>
    fc
      .tuple(settingsOf(fields), mostly(fc.boolean()), fc.boolean())
      .map(([settings, bypassed, bare]) => (bare ? { kind: id } : { kind: id, bypassed, settings })),
  ),
);

test('the schema allows a chain exactly when readChain does', () => {
  let read = 0;
  let refused = 0;
  fc.assert(
    fc.property(fc.array(part, { maxLength: 4 }), mostly(fc.constant(1)), (parts, version) => {
      const chain = { version, parts };
      const ours = isRead(chain);
      if (ours) read++;
      else refused++;
      expect(schema.safeParse(chain).success).toBe(ours);
    }),
    { numRuns: 400, seed: 8 },
  );
  // Both happen often, or the comparison says nothing.
  expect(Math.min(read, refused)).toBeGreaterThan(60);
});

test('the shape around the parts: what is missing, too much or not there', () => {
  const cases: [unknown, boolean][] = [
    [{ version: 1, parts: [] }, true],
    [{ version: 2, parts: [] }, false],
    [{ version: 1 }, false],
    [{ version: 1, parts: [], name: 'x' }, false],
    [{ version: 1, parts: [{ kind: 'trim', id: 'one', more: 1 }] }, false],
    [{ version: 1, parts: [{ kind: 'echo' }] }, false],
    [{ version: 1, parts: [{ id: 'a'.repeat(61), kind: 'trim' }] }, false],
    [{ version: 1, parts: Array.from({ length: 33 }, () => ({ kind: 'trim' })) }, false],
    [{ version: 1, parts: [{ kind: 'trim', settings: null }] }, true],
    ['chain', false],
  ];
  for (const [data, allowed] of cases)
    expect([isRead(data), schema.safeParse(data).success], JSON.stringify(data).slice(0, 80)).toEqual([
      allowed,
      allowed,
    ]);
});

test('the chain to begin from is one, as data too', () => {
  const { chain, why } = startingChain();
  const data: unknown = JSON.parse(JSON.stringify(chain));
  expect(readChain(data)).toEqual(chain);
  expect(schema.safeParse(data).success).toBe(true);
  expect(why).toHaveLength(chain.parts.length);
});
