import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { ean13CheckDigit, plainBarcode, plainIsrc, printedIsrc } from './check-digits.ts';

describe('codes of a record', () => {
  // Worked by hand after GS1 General Specifications 7.9: 6·1 + 2·3 + 9·1 + 1·3 + 0·1 + 4·3 + 1·1 + 5·3 + 0·1 + 0·3 + 2·1 + 1·3 = 57, so 3.
  test('the check digit of an EAN-13 is the one worked by hand', () => {
    expect(ean13CheckDigit('629104150021')).toBe(3);
    expect(plainBarcode('6291041500213')).toBe('6291041500213');
  });

  test('a UPC-A is the EAN-13 that begins with 0', () => {
    // 0·1 + 0·3 + 1·1 + 2·3 + 3·1 + 4·3 + 5·1 + 6·3 + 7·1 + 8·3 + 9·1 + 0·3 = 85, so 5.
    expect(plainBarcode('012345678905')).toBe('0012345678905');
  });

  test('one wrong digit is always found', () => {
    fc.assert(
      fc.property(
        fc.stringMatching(/^\d{12}$/),
        fc.integer({ min: 0, max: 12 }),
        fc.integer({ min: 1, max: 9 }),
        (digits, place, by) => {
          const code = digits + ean13CheckDigit(digits);
          const wrong = [...code]
            .map((digit, i) => (i === place ? (Number(digit) + by) % 10 : digit))
            .join('');
          return plainBarcode(code) === code && plainBarcode(wrong) === null;
        },
      ),
    );
  });

  test('an ISRC is taken with and without hyphens, and nothing else is', () => {
    expect(plainIsrc('ZZ-HBR-26-00001')).toBe('ZZHBR2600001');
    expect(plainIsrc('zzhbr2600001')).toBe('ZZHBR2600001');
    expect(printedIsrc('ZZHBR2600001')).toBe('ZZ-HBR-26-00001');
    for (const wrong of ['ZZHBR260001', 'Z1HBR2600001', 'ZZHBR26000O1', ''])
      expect(plainIsrc(wrong)).toBeNull();
  });
});
