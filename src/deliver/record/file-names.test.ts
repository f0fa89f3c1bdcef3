import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { distinctNames, nameFrom, safeName } from './file-names.ts';

describe('names of files', () => {
  test('are safe on every system, whatever the title', () => {
    fc.assert(
      fc.property(fc.string({ unit: 'binary', maxLength: 40 }), fc.nat({ max: 12 }), (text, times) => {
        const name = safeName(text.repeat(times), 'Song');
        expect(name).not.toBe('');
        expect(name).not.toMatch(/[<>:"/\\|?*\p{Cc}]|^[. ]|[. ]$/u);
        expect(name).not.toMatch(/^(con|prn|aux|nul|com\d|lpt\d)(\.|$)/i);
        expect(new TextEncoder().encode(name).length).toBeLessThanOrEqual(181);
        expect(name).toBe(name.normalize('NFC'));
      }),
      { numRuns: 50 },
    );
  });

  test('device names of Windows and titles of dots become others', () => {
    expect(safeName('CON', 'Song')).toBe('_CON');
    expect(safeName('nul.wav', 'Song')).toBe('_nul.wav');
    expect(safeName('...', 'Song')).toBe('Song');
  });

  test('a template is filled; what it does not know stays', () => {
    const parts = { track: '02', title: 'A/B', artist: 'Ottilie', album: 'Low', isrc: '', side: 'A' };
    expect(nameFrom('{track} {artist} - {title} {nothing}', parts, 'x')).toBe('02 Ottilie - A B {nothing}');
  });

  test('names that differ by case only are told apart', () => {
    expect(distinctNames(['Tide', 'tide', 'TIDE', 'Ebb'])).toEqual(['Tide', 'tide (2)', 'TIDE (3)', 'Ebb']);
  });
});
