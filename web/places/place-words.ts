import type { Place, PlaceLayout } from '../../src/places/place.ts';
import { figure } from '../words/figures.ts';

/** How the loudspeakers of a place stand, in words. */
export function layoutWords(layout: PlaceLayout): string {
  switch (layout.kind) {
    case 'mono':
      return 'one loudspeaker: both sides added';
    case 'narrow':
      return `two close together: the difference of the sides ${figure(layout.sideDb, 0)} dB weaker`;
    case 'headphones':
      return 'headphones: each ear its own side';
    case 'stereo':
      return `two, each ${figure(layout.angleDegrees, 0)}° from straight ahead`;
  }
}

/** A figure of a place with its name. */
type Line = readonly [name: string, value: string];

export function limitLines({ protection, maximumDb, wireless }: Place): Line[] {
  return [
    ['Highest level', `${figure(maximumDb, 0)} dB SPL`],
    [
      'Bass protection',
      protection
        ? `takes back what lies under ${figure(protection.belowHz, 0)} Hz from ${figure(protection.thresholdDb, 0)} dB SPL on, within ${figure(protection.attackSeconds * 1000, 0)} ms, back in ${figure(protection.releaseSeconds * 1000, 0)} ms`
        : 'none',
    ],
    ['Wireless', wireless ? 'coded once more on its way; hear that after lossy coding' : 'no'],
  ];
}

/** One line for the library. */
export function shortWords({ noise, levels, layout, protection }: Place): string {
  return [
    `talk-over ${figure(levels.talkOverDba, 0)}, loud ${figure(levels.loudDba, 0)} dB(A)`,
    noise ? `noise ${figure(noise.levelDba, 0)} dB(A)` : 'no noise',
    { mono: 'mono', narrow: 'narrow stereo', headphones: 'headphones', stereo: 'stereo' }[layout.kind],
    ...(protection ? [`bass held back under ${figure(protection.belowHz, 0)} Hz`] : []),
  ].join(', ');
}
