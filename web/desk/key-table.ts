/** All that can be done at the desk, by button and by key. One table: the keys, the list of them and the buttons read it. */
export const deskKeys = [
  { act: 'play', key: ' ', shown: 'Space', group: 'Play', words: 'play, pause' },
  { act: 'earlier', key: 'ArrowLeft', shown: '←', group: 'Play', words: '2 seconds back' },
  { act: 'later', key: 'ArrowRight', shown: '→', group: 'Play', words: '2 seconds on' },
  {
    act: 'far-earlier',
    key: 'ArrowLeft',
    shift: true,
    shown: 'Shift ←',
    group: 'Play',
    words: '10 seconds back',
  },
  {
    act: 'far-later',
    key: 'ArrowRight',
    shift: true,
    shown: 'Shift →',
    group: 'Play',
    words: '10 seconds on',
  },
  { act: 'bit-earlier', key: ',', shown: ',', group: 'Play', words: 'a tenth of a second back' },
  { act: 'bit-later', key: '.', shown: '.', group: 'Play', words: 'a tenth of a second on' },
  { act: 'section-before', key: '[', shown: '[', group: 'Play', words: 'the section before' },
  { act: 'section-after', key: ']', shown: ']', group: 'Play', words: 'the section after' },
  { act: 'loop', key: 'l', shown: 'L', group: 'Play', words: 'loop this section, or stop looping' },
  { act: 'loop-start', key: 'i', shown: 'I', group: 'Play', words: 'the loop begins here' },
  { act: 'loop-end', key: 'o', shown: 'O', group: 'Play', words: 'the loop ends here' },
  { act: 'choose', key: '1–9', shown: '1 to 9', group: 'Switch', words: 'hear that sound' },
  { act: 'back', key: '0', shown: '0', group: 'Switch', words: 'hear the one before again' },
  { act: 'next', key: 'j', shown: 'J', group: 'Switch', words: 'hear the next in the list' },
  { act: 'previous', key: 'k', shown: 'K', group: 'Switch', words: 'hear the previous in the list' },
  { act: 'match', key: '=', shown: '=', group: 'Switch', words: 'equal loudness on, off' },
  { act: 'service', key: 'v', shown: 'V', group: 'Switch', words: 'levels as a service would set them' },
  { act: 'mono', key: 'm', shown: 'M', group: 'Ways of hearing', words: 'mono' },
  {
    act: 'side',
    key: 's',
    shown: 'S',
    group: 'Ways of hearing',
    words: 'only what differs between left and right',
  },
  { act: 'swap', key: 'x', shown: 'X', group: 'Ways of hearing', words: 'left and right changed over' },
  { act: 'flip', key: 'p', shown: 'P', group: 'Ways of hearing', words: 'right side upside down (polarity)' },
  { act: 'band', key: 'b', shown: 'B', group: 'Ways of hearing', words: 'one band alone, then the next' },
  {
    act: 'minus',
    key: 'd',
    shown: 'D',
    group: 'Ways of hearing',
    words: 'difference to the one heard before',
  },
  { act: 'place', key: 'e', shown: 'E', group: 'Elsewhere', words: 'in the place, and back' },
  { act: 'next-place', key: 'g', shown: 'G', group: 'Elsewhere', words: 'in the next place' },
  {
    act: 'studio',
    key: 'r',
    shown: 'R',
    group: 'Elsewhere',
    words: 'in the good studio instead, at the same level',
  },
  { act: 'place-level', key: 't', shown: 'T', group: 'Elsewhere', words: 'level there: talked over, loud' },
  { act: 'place-noise', key: 'h', shown: 'H', group: 'Elsewhere', words: 'with the noise of the place' },
  { act: 'quiet', key: 'q', shown: 'Q', group: 'Level', words: '20 dB quieter' },
  {
    act: 'softer',
    key: 'ArrowDown',
    shift: true,
    shown: 'Shift ↓',
    group: 'Level',
    words: 'your level 1 dB down',
  },
  {
    act: 'louder',
    key: 'ArrowUp',
    shift: true,
    shown: 'Shift ↑',
    group: 'Level',
    words: 'your level 1 dB up',
  },
  { act: 'zoom-in', key: '+', shown: '+', group: 'Look', words: 'look closer' },
  { act: 'zoom-out', key: '-', shown: '−', group: 'Look', words: 'look from further off' },
  { act: 'whole', key: 'w', shown: 'W', group: 'Look', words: 'see the whole song' },
  { act: 'note', key: 'n', shown: 'N', group: 'Notes', words: 'write a note at this moment' },
  { act: 'keys', key: '?', shown: '?', group: 'Help', words: 'this list' },
] as const satisfies readonly {
  act: string;
  key: string;
  shift?: boolean;
  shown: string;
  group: string;
  words: string;
}[];

export type DeskAct = (typeof deskKeys)[number]['act'];

/** A key as `aria-keyshortcuts` wants it. */
export function ariaKey(act: DeskAct): string {
  const { key, ...line } = deskKeys.find((each) => each.act === act)!;
  const name = key === ' ' ? 'Space' : key === '+' ? 'Plus' : key;
  return 'shift' in line ? `Shift+${name}` : name;
}
