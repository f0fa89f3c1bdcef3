import { formOf, type PlacedSection } from '../form.ts';
import { bassGuitar } from '../instruments/bass.ts';
import { drumKit } from '../instruments/drum-kit.ts';
import { roomKit } from '../instruments/drum-sounds.ts';
import { acousticGuitar } from '../instruments/guitar.ts';
import { piano } from '../instruments/keys.ts';
import { mallets } from '../instruments/mallets.ts';
import { bowed, pad } from '../instruments/pad.ts';
import { voice } from '../instruments/voice.ts';
import { mixDown } from '../mixing/desk.ts';
import { doubled } from '../mixing/stereo.ts';
import type { Piece } from '../piece.ts';
import { bassLine } from '../players/bass-line.ts';
import { arpeggio, comp, fingerpick, held } from '../players/chords.ts';
import { fill, groove, hit } from '../players/drummer.ts';
import { inParallel, tune } from '../players/melody.ts';
import { clockOf, type Note, play } from '../score.ts';
import { leadSinger, secondSinger } from './singers.ts';

const rate = 44100;
const bpm = 108;
const C = 0;

const plan = [
  { name: 'intro', chords: 'Am9 | Fmaj7 | C/E | G' },
  { name: 'verse', chords: 'Am9 | Am9 | Fmaj7 | Fmaj7 | C/E | G | Dm7 | E7' },
  { name: 'chorus', chords: 'F | G | Em7 | Am | F | C/E | Dm7 | G' },
  { name: 'bridge', chords: 'Dm7 | Am/C | Bbmaj7 | F/A | Dm7 | Am/C | Bm7 | E7' },
  { name: 'chorus', chords: 'F | G | Em7 | Am | F | C/E | Dm7 G | C' },
  { name: 'outro', chords: 'Am9 | Fmaj7 | C/E | G | Am9 | Am9' },
];

const words: Readonly<Record<string, string>> = {
  verse: `r:1 C4:1/mo E4:1/na | E4:1.5/lo D4:.5/we C4:1/na | r:1 C4:1/so E4:1/la | A4:2.5/no r:.5 |
    G4:1/la E4:1/no C4:1/we | D4:2/na B3:1/lo | r:1 D4:.5/so E4:.5/la F4:1/me | E4:2.5/no r:.5`,
  chorus: `A4:1.5/lo! G4:.5/na F4:1/we | B4:2/ha! G4:1/lo | G4:1/na A4:.5 G4:.5/la E4:1/no | C5:2.5/la! r:.5 |
    A4:1/so! C5:1/la A4:1/no | G4:2/we E4:1/lo | F4:1/na E4:1/we D4:1/lo | D4:1/no G4:1.5/la r:.5`,
  'chorus again': `A4:1.5/lo! G4:.5/na F4:1/we | B4:2/ha! D5:1/lo! | B4:1/na A4:.5 G4:.5/la E4:1/no | C5:2.5/la! r:.5 |
    C5:1/so! D5:1/la C5:1/no | E5:2/we! C5:1/lo | A4:1/na G4:1/we F4:1/lo | E4:2.5/no r:.5`,
  bridge: `F4:2/mo G4:1 | A4:2.5/no r:.5 | D5:1.5/ha C5:.5 A4:1/lo | C5:2.5/na r:.5 | F4:1/mo G4:1 A4:1/no | C5:2.5/la r:.5 | B4:2/ho A4:1 | G#4:2.5/no r:.5`,
  outro: `r:1 C5:1/o? B4:1 | A4:2.5/no? r:.5 | r:1 G4:1/o? E4:1 | D4:2.5/no? r:.5 | C4:3/mm | C4:2/mm? r:1`,
};

function sung(section: PlacedSection): Note[] {
  const text = words[section.turn > 0 ? `${section.name} again` : section.name] ?? words[section.name];
  return text ? tune(text, section.beat, section.name === 'chorus' ? 0.78 : 0.55) : [];
}

/** A slow waltz in A minor: felted piano, picked nylon strings, an upright bass, brushes, vibraphone, and strings that come late. */
export const quietMachinery: Piece = {
  id: 'quiet-machinery',
  title: 'Quiet Machinery',
  artist: 'The Brindle Ferries',
  sampleRate: rate,
  needs: {
    bands: [
      { kind: 'bell', hz: 240, db: -1.5, q: 0.8 },
      { kind: 'highshelf', hz: 8000, db: 2 },
    ],
    lufs: -13.9,
    ceilingDb: -1.7,
  },
  mix(sections = plan.length) {
    const form = formOf(3, plan.slice(0, sections));
    const clock = clockOf(bpm, { leadInSeconds: 0.3, slowFromBeat: form.beats - 9, slowBy: 0.05 });
    const frames = Math.ceil((clock(form.beats) + 4.2) * rate);
    const [drums, guitar, keys, bells, bass, strings, lead, second]: Note[][] = Array.from(
      { length: 8 },
      () => [],
    );
    for (const s of form.sections) {
      const tunes = sung(s);
      lead.push(...tunes);
      switch (s.name) {
        case 'intro':
          keys.push(...arpeggio(s, 3, '0.2.3.1.3.2.', { low: 57, voices: 4, level: 0.55, hold: 2 }));
          bells.push(...arpeggio(s, 3, '............|....5...4...', { low: 69, voices: 3, level: 0.5 }));
          drums.push(...groove(s, 3, { sweep: 'x...o...o...' }, { level: 0.6 }));
          bass.push(...bassLine(s, 3, '------|------|1.....|1...5a', { level: 0.6 }));
          break;
        case 'verse':
          guitar.push(...fingerpick(s, 3, '0.2.3.4.3.2.', 0.85));
          keys.push(...comp(s, 3, '....o...o...|........o...', { low: 57, voices: 3, level: 0.7 }));
          bass.push(...bassLine(s, 3, '1.....|1...5.|1.....|1...5a', { level: 0.7 }));
          drums.push(
            ...groove(
              s,
              3,
              { sweep: 'x...o...o...', kick: 'o...........|o.......g...', rim: '........g...' },
              { level: 0.75 },
            ),
          );
          if (s.bars >= 8)
            bells.push(
              ...arpeggio({ ...s, beat: s.beat + 12, beats: 12, bars: 4 }, 3, '........4...|....5.......', {
                low: 69,
                voices: 3,
                level: 0.45,
              }),
            );
          break;
        case 'chorus':
          guitar.push(...fingerpick(s, 3, '0.3.4.5.4.3.', 1));
          keys.push(...comp(s, 3, 'x...o...o...', { low: 55, voices: 4, level: 0.9 }));
          bass.push(...bassLine(s, 3, '1...5.|1.1.5.|1...5.|1.5.8a', { level: 0.85 }));
          strings.push(...held(s, { low: 60, voices: 4, level: s.turn > 0 ? 0.85 : 0.6 }));
          bells.push(...arpeggio(s, 3, '4...........|....5...4...', { low: 69, voices: 3, level: 0.55 }));
          drums.push(
            hit('crash', s.beat, s.turn > 0 ? 0.6 : 0.4),
            ...groove(
              s,
              3,
              {
                kick: 'x.......o...|x.....o.....',
                snare: '....x...o..g|....x...x...',
                ride: 'x...o.o.o...',
                sweep: '....o...o...',
              },
              { level: s.turn > 0 ? 0.95 : 0.8, leaveLast: 1.5 },
            ),
            ...fill(s, 1.5, { tom3: 'x.....', tom2: '..x...', snare: '...xxx', kick: 'x.....' }, 0.8),
          );
          second.push(...inParallel(tunes, C, s.turn > 0 ? 2 : -2));
          break;
        case 'bridge':
          keys.push(...arpeggio(s, 3, '0.1.2.3.4.3.', { low: 55, voices: 4, level: 0.6, hold: 2 }));
          bass.push(...bassLine(s, 3, '1.....', { level: 0.65 }));
          strings.push(...held(s, { low: 57, voices: 4, level: 0.6 }));
          drums.push(
            ...groove(
              s,
              3,
              { sweep: 'x...o...o...', kick: 'o...........', ride: 'o.......g...' },
              { level: 0.75, leaveLast: 3 },
            ),
            ...fill(s, 3, { tom3: 'o.o.o.x.x.x.', snare: '......g.oxxx', kick: 'x.......x...' }, 0.9),
          );
          second.push(...inParallel(tunes, C, -2, 0.2));
          break;
        default:
          keys.push(
            ...arpeggio({ ...s, bars: 4, beats: 12 }, 3, '0.2.3.1.3.2.', {
              low: 57,
              voices: 4,
              level: 0.5,
              hold: 2,
            }),
          );
          keys.push(
            ...comp({ ...s, beat: s.beat + 12, bars: 2, beats: 6 }, 3, 'o...........|o...........', {
              low: 57,
              voices: 4,
              level: 0.75,
            }),
          );
          guitar.push(...fingerpick({ ...s, bars: 4, beats: 12 }, 3, '0.2.3.4.3.2.', 0.7));
          guitar.push(
            ...fingerpick(
              { ...s, beat: s.beat + 12, bars: 2, beats: 6 },
              3,
              '0.2.3...4...|0...3.4.....',
              0.6,
            ),
          );
          bass.push(...bassLine(s, 3, '1.....|1.....|1.....|1...5.|1.....|1.....', { level: 0.6 }));
          strings.push(...held(s, { low: 57, voices: 3, level: 0.35 }));
          bells.push(...arpeggio(s, 3, '........4...|....5.......', { low: 69, voices: 3, level: 0.4 }));
          drums.push(
            ...groove({ ...s, bars: 4, beats: 12 }, 3, { sweep: 'x...o...o...' }, { level: 0.6 }),
            hit('kick', s.beat + 12, 0.4),
            hit('crash', s.beat + 15, 0.25),
          );
      }
    }
    const id = this.id;
    const kit = {
      ...roomKit,
      kickHz: 50,
      beater: 0.15,
      kickSeconds: 0.34,
      snareHz: 172,
      wires: 0.45,
      cymbals: 0.35,
    };
    const soft = { looseSeconds: 0.01, touch: 0.06 };
    const singing = { looseSeconds: 0.014, lateSeconds: 0.016, touch: 0.04 };
    const hits = play(drums, clock, { looseSeconds: 0.006, touch: 0.06 }, `${id} drums`);
    return mixDown(
      [
        {
          name: 'kick',
          sound: drumKit(hits, frames, rate, kit, id, (w) => w === 'kick'),
          lufs: -23.5,
          bands: [{ kind: 'bell', hz: 60, db: 3, q: 1 }],
          room: -16,
        },
        {
          name: 'drums',
          sound: drumKit(hits, frames, rate, kit, id, (w) => w !== 'kick'),
          lufs: -26,
          bands: [{ kind: 'highshelf', hz: 8000, db: -1 }],
          room: -10,
          hall: -16,
        },
        {
          name: 'bass',
          sound: bassGuitar(play(bass, clock, soft, `${id} bass`), frames, rate, id, {
            bright: 0.35,
            wood: true,
          }),
          lufs: -18.5,
          compression: { thresholdDb: -20, ratio: 2.5, attackSeconds: 0.03, releaseSeconds: 0.2 },
          room: -22,
        },
        {
          name: 'guitar',
          sound: acousticGuitar(play(guitar, clock, soft, `${id} guitar`), frames, rate, id, {
            nylon: true,
            bright: 0.6,
          }),
          pan: -0.4,
          lufs: -24,
          bands: [
            { kind: 'lowcut', hz: 90 },
            { kind: 'highshelf', hz: 6000, db: 3 },
          ],
          room: -14,
          hall: -14,
        },
        {
          name: 'piano',
          sound: piano(play(keys, clock, soft, `${id} piano`), frames, rate, id, { felt: 0.6, width: 0.7 }),
          lufs: -22.5,
          bands: [
            { kind: 'lowcut', hz: 70 },
            { kind: 'highshelf', hz: 5000, db: 2 },
          ],
          room: -16,
          hall: -14,
        },
        {
          name: 'vibraphone',
          sound: mallets(play(bells, clock, soft, `${id} bells`), frames, rate, 'metal'),
          pan: 0.5,
          lufs: -31,
          hall: -8,
          echo: -14,
        },
        {
          name: 'strings',
          sound: pad(play(strings, clock, soft, `${id} strings`), frames, rate, id, bowed),
          lufs: -25.5,
          bands: [
            { kind: 'lowcut', hz: 160 },
            { kind: 'highshelf', hz: 6000, db: 2 },
          ],
          hall: -8,
        },
        {
          name: 'lead',
          sound: voice(
            play(lead, clock, singing, `${id} lead`),
            frames,
            rate,
            { ...leadSinger, breath: 0.75 },
            `${id} lead`,
          ),
          lufs: -20.5,
          bands: [
            { kind: 'lowcut', hz: 110 },
            { kind: 'bell', hz: 700, db: -2.5, q: 0.7 },
            { kind: 'bell', hz: 3600, db: 1.5, q: 0.8 },
            { kind: 'highshelf', hz: 8000, db: 4 },
          ],
          compression: { thresholdDb: -20, ratio: 2.5, attackSeconds: 0.01, releaseSeconds: 0.15 },
          room: -22,
          hall: -12,
        },
        {
          name: 'second',
          sound: doubled(
            voice(play(second, clock, singing, `${id} s1`), frames, rate, secondSinger, `${id} s1`),
            voice(
              play(second, clock, singing, `${id} s2`),
              frames,
              rate,
              { ...secondSinger, tract: 1.05 },
              `${id} s2`,
            ),
            0.6,
          ),
          lufs: -27,
          bands: [{ kind: 'lowcut', hz: 180 }],
          hall: -8,
        },
      ],
      {
        rate,
        room: { decaySeconds: 0.6, preDelaySeconds: 0.008, size: 0.5, dampHz: 6000, lowCutHz: 130 },
        hall: { decaySeconds: 2.4, preDelaySeconds: 0.035, size: 1, dampHz: 5000, lowCutHz: 200 },
        echoSeconds: (60 / bpm) * 1.5,
        echoFeedback: 0.3,
        bus: [
          { kind: 'lowshelf', hz: 130, db: 6.5 },
          { kind: 'bell', hz: 650, db: -5, q: 0.6 },
          { kind: 'highshelf', hz: 8500, db: 1 },
        ],
        fadeSeconds: 2.6,
        peakDbfs: -5,
      },
    );
  },
};
