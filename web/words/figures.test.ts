import { describe, expect, test } from 'vitest';
import { bytes, clock, count, difference, figure, hertz, inUnit, kilohertz, stretch } from './figures.ts';

describe('figures as people read them', () => {
  test('a true minus sign, no minus before nothing, a dash for what does not exist', () => {
    expect([figure(-14.04), figure(-0.04), figure(0.25, 2), figure(null)]).toEqual([
      '−14.0',
      '0.0',
      '0.25',
      '–',
    ]);
  });
  test('a difference always has its sign', () => {
    expect([difference(1.25), difference(-0.44), difference(-0.01), difference(null)]).toEqual([
      '+1.3',
      '−0.4',
      '±0.0',
      '–',
    ]);
  });
  test('a level above full scale carries its sign, bits are whole', () => {
    expect([inUnit(0.83, 'dBTP'), inUnit(0.04, 'dBTP'), inUnit(-1, 'dBFS')]).toEqual(['+0.8', '0.0', '−1.0']);
    expect([inUnit(9.76, 'dB'), inUnit(16, 'bit'), inUnit(null, 'dBTP'), inUnit(12, '')]).toEqual([
      '9.8',
      '16',
      '–',
      '12',
    ]);
  });
  test('places in time carry over instead of showing sixty seconds', () => {
    expect([clock(0), clock(59.96, 1), clock(62.345, 2), clock(3725), clock(119.7)]).toEqual([
      '0:00',
      '1:00.0',
      '1:02.35',
      '1:02:05',
      '2:00',
    ]);
  });
  test('a stretch shows its two ends apart, a moment shows one', () => {
    expect(stretch({ startSeconds: 10, endSeconds: 40 })).toBe('0:10–0:40');
    expect(stretch({ startSeconds: 10.01, endSeconds: 10.04 })).toBe('0:10.01–0:10.04');
    expect(stretch({ startSeconds: 10.00001, endSeconds: 10.00002 })).toBe('0:10.00');
  });
  test('sizes, rates, frequencies, counts', () => {
    expect([bytes(999), bytes(1500), bytes(52_000_000), bytes(4.3e9)]).toEqual([
      '999 B',
      '1.5 kB',
      '52 MB',
      '4.3 GB',
    ]);
    expect([hertz(31.5), hertz(400), hertz(1250), hertz(20000)]).toEqual(['31.5', '400', '1.25k', '20k']);
    expect([kilohertz(44100), kilohertz(48000), kilohertz(22050)]).toEqual([
      '44.1 kHz',
      '48 kHz',
      '22.05 kHz',
    ]);
    expect([count(1, 'over'), count(0, 'over'), count(2, 'entry', 'entries')]).toEqual([
      '1 over',
      '0 overs',
      '2 entries',
    ]);
  });
});
