import { formOf, type PlacedSection } from '../form.ts';
import { bassGuitar } from '../instruments/bass.ts';
import { drumKit } from '../instruments/drum-kit.ts';
import { roomKit } from '../instruments/drum-sounds.ts';
import { acousticGuitar } from '../instruments/guitar.ts';
import { electricPiano } from '../instruments/keys.ts';
import { bowed, pad } from '../instruments/pad.ts';
import { voice } from '../instruments/voice.ts';
import { mixDown } from '../mixing/desk.ts';
import { doubled } from '../mixing/stereo.ts';
import type { Piece } from '../piece.ts';
import { bassLine } from '../players/bass-line.ts';
import { comp, fingerpick, held, strum } from '../players/chords.ts';
import { fill, groove, hit } from '../players/drummer.ts';
import { inParallel, tune } from '../players/melody.ts';
import { clockOf, type Note, play } from '../score.ts';
import { leadSinger, secondSinger } from './singers.ts';

const rate = 44100;
const artist = 'The Brindle Ferries';
const D = 2;

const plan = [
  { name: 'intro', chords: 'D | G/D | D | A7sus4' },
  { name: 'verse', chords: 'D | D/F# | G | G | Bm7 | A | G | A' },
  { name: 'chorus', chords: 'G | D/F# | A | Bm7 | G | D/F# | Em7 | A' },
  { name: 'bridge', chords: 'Bm7 | F#m7 | Gmaj7 | A7sus4' },
  { name: 'chorus', chords: 'G | D/F# | A | Bm7 | G | D/F# | Em7 A | D' },
  { name: 'outro', chords: 'G | A | Dadd9 | D' },
];

const words: Readonly<Record<string, string>> = {
  verse: `r:.5 F#4:.5/na F#4:.5/la E4:.5/we F#4:1/lo A4:1/ra | r:.5 A4:.5/so F#4:.5/me E4:.5/li D4:2/no |
    r:.5 B3:.5/we D4:.5/no E4:.5/la D4:1/mo B3:1/ri | D4:2.5/na r:1.5 |
    r:.5 F#4:.5/sa F#4:.5/le E4:.5/na F#4:1/ro B4:1/la | r:.5 A4:.5/we F#4:.5/lo E4:.5/ne C#4:.5/ma E4:1.5/no |
    r:.5 D4:.5/so E4:.5/la F#4:.5/me G4:1/ro F#4:1/ne | E4:2.5/la r:1.5`,
  chorus: `B4:1.5/ha! C#5:.5/lo D5:2/na! | A4:1.5/la F#4:.5/we A4:1.5/no r:.5 | C#5:1/ha! B4:.5/lo A4:.5/we E4:1/na A4:1/la |
    F#4:2.5/no r:1.5 | B4:1.5/ha! C#5:.5/lo D5:1/na E5:1/ra! | D5:1/so A4:1/la F#4:1.5/no r:.5 |
    G4:1/we F#4:.5/no E4:.5/la G4:1/so B4:1/na | A4:2.75/la r:1.25`,
  'chorus again': `B4:1.5/ha! C#5:.5/lo D5:2/na! | A4:1.5/la F#4:.5/we A4:1.5/no r:.5 | C#5:1/ha! B4:.5/lo A4:.5/we E4:1/na A4:1/la |
    F#4:2.5/no r:1.5 | B4:1.5/ha! C#5:.5/lo D5:1/na F#5:1/ra! | E5:1/so D5:1/la A4:1.5/no r:.5 |
    G4:1/we F#4:.5/no E4:.5/la E4:1/so C#4:1/na | D4:3/no r:1`,
  bridge: `D4:1/mo E4:.5 F#4:2/no r:.5 | F#4:1/no E4:.5 C#4:2/lo r:.5 | B3:1/mo D4:1/no F#4:1.5/la r:.5 | E4:1.5/no F#4:.5 G4:1 A4:1/ha`,
  outro: `r:1 B4:1/lo? A4:1 G4:1 | E4:2/no? r:1 F#4:.5/la? E4:.5 | D4:3.5/no? r:.5`,
};

function sung(section: PlacedSection): Note[] {
  const text = words[section.turn > 0 ? `${section.name} again` : section.name] ?? words[section.name];
  return text ? tune(text, section.beat, section.name === 'chorus' ? 0.82 : 0.6) : [];
}

/** A warm, mid-paced song in D: strummed guitars to the sides, electric piano, a kit with a soft beater. */
export const ferryLight: Piece = {
  id: 'ferry-light',
  title: 'Ferry Light',
  artist,
  sampleRate: rate,
  needs: {
    bands: [
      { kind: 'bell', hz: 260, db: -1, q: 0.8 },
      { kind: 'highshelf', hz: 9000, db: 1.5 },
    ],
    lufs: -13,
  },
  mix(sections = plan.length) {
    const form = formOf(4, plan.slice(0, sections));
    const clock = clockOf(104, { leadInSeconds: 0.25, slowFromBeat: form.beats - 8, slowBy: 0.03 });
    const frames = Math.ceil((clock(form.beats) + 3.6) * rate);
    const [drums, guitar, guitarTwo, picked, bass, keys, strings, lead, third]: Note[][] = Array.from(
      { length: 9 },
      () => [],
    );
    for (const s of form.sections) {
      const tunes = sung(s);
      lead.push(...tunes);
      switch (s.name) {
        case 'intro':
          picked.push(...fingerpick(s, 4, '0.2.3.4.0.3.2.4.', 0.9));
          keys.push(...comp(s, 4, 'o.......|........|o.......|....o...', { level: 0.8 }));
          drums.push(...groove(s, 4, { shaker: 'x.o.x.o.x.o.x.o.' }, { level: 0.7 }));
          drums.push(...fill(s, 1, { snare: '..xx', kick: 'x...' }, 0.8));
          bass.push(...bassLine(s, 4, '-...|-...|1...|1..a', { level: 0.6 }));
          break;
        case 'verse':
          drums.push(
            ...groove(
              s,
              4,
              {
                kick: 'x.......x.x.....|x......xx.......',
                rim: '....x.......x...',
                hat: 'x.o.x.o.x.o.x.oo',
                snare: '.......g........|.........g....g.',
              },
              { level: 0.85, leaveLast: 1 },
            ),
            ...fill(s, 1, { snare: 'o.xX', tom1: '.x..' }),
          );
          bass.push(...bassLine(s, 4, '1.....1.5.1.....|1.....1.5...1.a.', { level: 0.7 }));
          guitar.push(...strum(s, 4, 'D...d.u...u.d.u.', 0.75));
          picked.push(...fingerpick(s, 4, '0.2.3.4.0.3.2.4.', 0.7));
          keys.push(...comp(s, 4, '......x.........|..........o.....', { low: 57, level: 0.75 }));
          break;
        case 'chorus':
          drums.push(
            hit('crash', s.beat, 0.85),
            hit('crash', s.beat + 16, 0.6),
            ...groove(
              s,
              4,
              {
                kick: 'X.....x.x.......|X.....x.x.x.....',
                snare: '....X..g.g..X...|....X..g....X..g',
                ride: 'x.o.x.o.x.o.x.o.',
                tamb: '....x.......x...',
              },
              { leaveLast: s.turn === 0 ? 2 : 0 },
            ),
          );
          if (s.turn === 0)
            drums.push(
              ...fill(s, 2, {
                snare: 'X.xxX.......',
                tom1: '.....xX.....',
                tom2: '.......xX...',
                tom3: '.........xXX',
                kick: 'x.....x.....',
              }),
            );
          bass.push(...bassLine(s, 4, '1.1...1.1.5...8.|1.1...1.1...5.a.', { level: 0.85 }));
          guitar.push(...strum(s, 4, 'D.u.D.uu..u.D.uu', 0.95));
          guitarTwo.push(...strum(s, 4, 'D.u.D.uu..u.D.uu', 0.9, 2));
          keys.push(...comp(s, 4, 'X.....x...x.....', { low: 57, level: 0.85 }));
          strings.push(...held(s, { low: 62, voices: 3, level: 0.6 }));
          third.push(...inParallel(tunes, D, s.turn === 0 ? -2 : 2));
          break;
        case 'bridge':
          drums.push(
            hit('crash', s.beat, 0.55),
            ...groove(
              s,
              4,
              { kick: 'x...............', ride: 'o...o...o...o...', rim: '............o...' },
              { leaveLast: 2 },
            ),
            ...fill(s, 2, { tom3: 'x.x.....', tom2: '....x.x.', snare: 'g.g.oxxX', kick: 'x...x...' }),
          );
          bass.push(...bassLine(s, 4, '1.......5...1...', { level: 0.65 }));
          picked.push(...fingerpick(s, 4, '0.2.3.4.5.4.3.2.', 0.85));
          keys.push(...comp(s, 4, 'x.......o.......', { low: 57, level: 0.8 }));
          strings.push(...held(s, { low: 57, voices: 4, level: 0.7 }));
          third.push(...inParallel(tunes, D, -2, 0.15));
          break;
        default:
          drums.push(
            hit('crash', s.beat, 0.6),
            hit('kick', s.beat, 0.7),
            hit('kick', s.beat + 8, 0.5),
            hit('ride', s.beat + 8, 0.4),
            hit('kick', s.beat + 12, 0.6),
            hit('crash', s.beat + 12, 0.4),
          );
          bass.push(...bassLine(s, 4, '1.....5.1...|1...5...1.a.|1.......5...|1...........', { level: 0.6 }));
          picked.push(...fingerpick({ ...s, bars: 2, beats: 8 }, 4, '0.2.3.4.0.3.2.4.', 0.8));
          guitar.push(
            ...strum({ ...s, beat: s.beat + 8, bars: 1, beats: 4 }, 4, 'd...............', 0.8),
            ...strum({ ...s, beat: s.beat + 12, bars: 1, beats: 4 }, 4, 'd...............', 0.75),
          );
          keys.push(
            ...comp(s, 4, 'o...............|o...............|o...............|o...............', {
              level: 0.8,
            }),
          );
          strings.push(...held(s, { low: 57, level: 0.5 }));
      }
    }
    const id = this.id;
    const hits = play(drums, clock, { looseSeconds: 0.004, touch: 0.05, swing: 0.1 }, `${id} drums`);
    const strummed = { looseSeconds: 0.007, touch: 0.05, swing: 0.1 };
    const singing = { looseSeconds: 0.012, lateSeconds: 0.01, touch: 0.04 };
    const leadNotes = play(lead, clock, singing, `${id} lead`);
    const g1 = play(guitar, clock, strummed, `${id} guitar`);
    const g2 = play(
      [...guitar.filter((n) => n.velocity > 0.5), ...guitarTwo],
      clock,
      strummed,
      `${id} guitar two`,
    );
    return mixDown(
      [
        {
          name: 'kick',
          sound: drumKit(hits, frames, rate, roomKit, id, (w) => w === 'kick'),
          lufs: -20.5,
          bands: [
            { kind: 'bell', hz: 62, db: 3, q: 1.2 },
            { kind: 'bell', hz: 350, db: -4, q: 1 },
          ],
          room: -22,
        },
        {
          name: 'drums',
          sound: drumKit(hits, frames, rate, roomKit, id, (w) => w !== 'kick'),
          lufs: -23,
          bands: [{ kind: 'highshelf', hz: 7000, db: -3 }],
          room: -11,
          hall: -24,
        },
        {
          name: 'bass',
          sound: bassGuitar(
            play(bass, clock, { looseSeconds: 0.005, lateSeconds: 0.004 }, `${id} bass`),
            frames,
            rate,
            id,
          ),
          lufs: -18.8,
          compression: { thresholdDb: -20, ratio: 3, attackSeconds: 0.02, releaseSeconds: 0.15 },
        },
        {
          name: 'guitars',
          sound: doubled(
            acousticGuitar(g1, frames, rate, `${id} g1`),
            acousticGuitar(g2, frames, rate, `${id} g2`),
            0.8,
          ),
          lufs: -25,
          bands: [
            { kind: 'lowcut', hz: 130 },
            { kind: 'bell', hz: 600, db: -3, q: 0.7 },
            { kind: 'highshelf', hz: 7000, db: 1 },
          ],
          room: -14,
          hall: -20,
        },
        {
          name: 'picked',
          sound: acousticGuitar(
            play(picked, clock, { looseSeconds: 0.008 }, `${id} picked`),
            frames,
            rate,
            `${id} picked`,
          ),
          pan: 0.3,
          lufs: -25,
          bands: [{ kind: 'lowcut', hz: 95 }],
          room: -14,
          hall: -15,
        },
        {
          name: 'keys',
          sound: electricPiano(
            play(keys, clock, { looseSeconds: 0.01, swing: 0.1 }, `${id} keys`),
            frames,
            rate,
          ),
          lufs: -26,
          bands: [{ kind: 'lowcut', hz: 150 }],
          hall: -16,
        },
        {
          name: 'strings',
          sound: pad(play(strings, clock, {}, `${id} strings`), frames, rate, id, bowed),
          lufs: -30,
          bands: [{ kind: 'lowcut', hz: 220 }],
          hall: -9,
        },
        {
          name: 'lead',
          sound: voice(leadNotes, frames, rate, leadSinger, `${id} lead`),
          lufs: -20,
          bands: [
            { kind: 'lowcut', hz: 120 },
            { kind: 'bell', hz: 750, db: -3, q: 0.7 },
            { kind: 'bell', hz: 3600, db: 1.5, q: 0.8 },
            { kind: 'highshelf', hz: 9000, db: 1 },
          ],
          compression: { thresholdDb: -20, ratio: 3, attackSeconds: 0.008, releaseSeconds: 0.12 },
          room: -20,
          hall: -15,
          echo: -22,
        },
        {
          name: 'harmony',
          sound: doubled(
            voice(play(third, clock, singing, `${id} third`), frames, rate, secondSinger, `${id} third`),
            voice(play(third, clock, singing, `${id} third b`), frames, rate, secondSinger, `${id} third b`),
            0.6,
          ),
          lufs: -27,
          bands: [
            { kind: 'lowcut', hz: 180 },
            { kind: 'highshelf', hz: 8000, db: 3 },
          ],
          hall: -10,
        },
      ],
      {
        rate,
        room: { decaySeconds: 0.5, preDelaySeconds: 0.006, size: 0.42, dampHz: 6500, lowCutHz: 140 },
        hall: { decaySeconds: 1.7, preDelaySeconds: 0.028, size: 0.9, dampHz: 5200, lowCutHz: 220 },
        echoSeconds: (60 / 104) * 0.75,
        echoFeedback: 0.35,
        bus: [
          { kind: 'lowshelf', hz: 130, db: 4.5 },
          { kind: 'bell', hz: 260, db: 3.5, q: 0.8 },
          { kind: 'bell', hz: 650, db: -3.5, q: 0.6 },
          { kind: 'highshelf', hz: 1800, db: -2.5, q: 0.5 },
          { kind: 'highshelf', hz: 9000, db: -2 },
        ],
        fadeSeconds: 2,
        peakDbfs: -4.2,
      },
    );
  },
};
