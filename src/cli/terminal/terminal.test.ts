import fc from 'fast-check';
import { expect, test } from 'vitest';
import { styleFor } from './style.ts';
import { table } from './table.ts';
import { hang, wrap } from './wrap.ts';

const words = fc.array(fc.stringMatching(/^[a-zäß−.]{1,12}$/), { maxLength: 40 });

test('wrapping loses no word, changes no order and passes no width', () => {
  fc.assert(
    fc.property(words, fc.integer({ min: 12, max: 60 }), (list, width) => {
      const lines = wrap(list.join(' '), width);
      expect(lines.join(' ')).toBe(list.join(' '));
      for (const line of lines) expect(line.length).toBeLessThanOrEqual(width);
    }),
  );
});

test('a figure stays with its unit', () => {
  expect(wrap('the peak is −1.0 dBTP here', 16)).toEqual(['the peak is', '−1.0 dBTP here']);
  expect(wrap('it carries 93 % of it', 13)).toEqual(['it carries', '93 % of it']);
});

test('a hanging paragraph stands beside its mark', () => {
  expect(hang('◆ mend  ', 'one two three', 16)).toEqual(['◆ mend  one two', '        three']);
});

test('columns of a table start and end at the same place in every line', () => {
  const lines = table(
    [
      { head: 'coded as', align: 'left' },
      { head: 'growth', align: 'right' },
    ],
    [
      ['AAC 128', '+1.3 dB'],
      ['Vorbis 160', '−10.3 dB'],
    ],
  );
  expect(lines).toEqual(['coded as      growth', 'AAC 128      +1.3 dB', 'Vorbis 160  −10.3 dB']);
});

test.each([
  ['a terminal', true, {}, true],
  ['no terminal', false, {}, false],
  ['a terminal that is dumb', true, { TERM: 'dumb' }, false],
  ['NO_COLOR', true, { NO_COLOR: '1' }, false],
  ['an empty NO_COLOR', true, { NO_COLOR: '' }, true],
  ['FORCE_COLOR', false, { FORCE_COLOR: '1' }, true],
  ['FORCE_COLOR=0', true, { FORCE_COLOR: '0' }, false],
  ['both', false, { FORCE_COLOR: '1', NO_COLOR: '1' }, true],
])('colour: %s', (_what, isTerminal, env, expected) => {
  expect(styleFor(isTerminal, env).strong('x') !== 'x').toBe(expected);
});
