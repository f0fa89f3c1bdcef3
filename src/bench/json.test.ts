import fc from 'fast-check';
import { expect, test } from 'vitest';
import { exactJson, keyJson } from './json.ts';

test('what JSON would quietly change is refused', () => {
  for (const value of [Number.NaN, Number.POSITIVE_INFINITY, Number.NEGATIVE_INFINITY, new Float32Array(1)])
    expect(() => exactJson({ deep: [{ value }] })).toThrow(TypeError);
  expect(exactJson({ a: null, b: 1e-300 })).toBe('{"a":null,"b":1e-300}');
});

test('equal options give equal text whatever their order', () => {
  fc.assert(
    fc.property(fc.dictionary(fc.string(), fc.jsonValue()), (options) => {
      const turned = Object.fromEntries(Object.entries(options).reverse());
      expect(keyJson(turned)).toBe(keyJson(options));
    }),
  );
  expect(keyJson({ b: [2, 1], a: { d: 1, c: 2 } })).toBe('{"a":{"c":2,"d":1},"b":[2,1]}');
});
