/** An International Standard Recording Code taken apart (ISO 3901:2019; from memory). */
const isrcForm = /^[A-Z]{2}[A-Z0-9]{3}\d{7}$/;

/** 'AA-BBB-26-00001' or without hyphens, as the twelve characters that are stored; null where it is no ISRC. There is no check digit. */
export function plainIsrc(text: string): string | null {
  const plain = text.replace(/[-\s]/g, '').toUpperCase();
  return isrcForm.test(plain) ? plain : null;
}

/** As it is printed: 'AA-BBB-26-00001'. Takes what `plainIsrc` gave. */
export function printedIsrc(isrc: string): string {
  return [isrc.slice(0, 2), isrc.slice(2, 5), isrc.slice(5, 7), isrc.slice(7)].join('-');
}

/** The last digit that the first twelve ask for: weights 1 and 3 in turn, up to the next ten (GS1 General Specifications 7.9; from memory). */
export function ean13CheckDigit(firstTwelve: string): number {
  const sum = [...firstTwelve].reduce((all, digit, i) => all + Number(digit) * (i % 2 === 0 ? 1 : 3), 0);
  return (10 - (sum % 10)) % 10;
}

/**
 * A UPC-A (12 digits) or EAN-13 as thirteen digits: a UPC-A is the EAN-13 that begins with 0. null where it is neither, or its
 * last digit does not fit the others.
 */
export function plainBarcode(text: string): string | null {
  const digits = text.replace(/[-\s]/g, '');
  if (!/^\d{12,13}$/.test(digits)) return null;
  const ean = digits.padStart(13, '0');
  return ean13CheckDigit(ean.slice(0, 12)) === Number(ean[12]) ? ean : null;
}
