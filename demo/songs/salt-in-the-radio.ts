import { formOf, type PlacedSection } from '../form.ts';
import { bassGuitar } from '../instruments/bass.ts';
import { drumKit } from '../instruments/drum-kit.ts';
import { roomKit } from '../instruments/drum-sounds.ts';
import { electricGuitar } from '../instruments/guitar.ts';
import { organ } from '../instruments/keys.ts';
import { voice } from '../instruments/voice.ts';
import { chorus } from '../mixing/chorus.ts';
import { mixDown } from '../mixing/desk.ts';
import { doubled } from '../mixing/stereo.ts';
import type { Piece } from '../piece.ts';
import { bassLine } from '../players/bass-line.ts';
import { arpeggio, held, powerChords } from '../players/chords.ts';
import { fill, groove, hit } from '../players/drummer.ts';
import { inParallel, tune } from '../players/melody.ts';
import { clockOf, type Note, play } from '../score.ts';
import { leadSinger, secondSinger } from './singers.ts';

const rate = 44100;
const bpm = 138;
const G = 7;

const plan = [
  { name: 'intro', chords: 'Em | Em | C | D | Em | Em | C | D' },
  { name: 'verse', chords: 'Em | Em | C | C | G | G | D | D' },
  { name: 'lift', chords: 'Am7 | C | Am7 | D' },
  { name: 'chorus', chords: 'C | G | D | Em | C | G | D | D' },
  { name: 'bridge', chords: 'Am | Em | C | B7' },
  { name: 'chorus', chords: 'C | G | D | Em | C | G | D | D' },
  { name: 'outro', chords: 'Em | C | D | Em | Em' },
];

const words: Readonly<Record<string, string>> = {
  verse: `r:1 E4:.5/so E4:.5/la G4:.5/di G4:.5/ra F#4:.5/to E4:.5/na | r:.5 D4:.5/we E4:2/no r:1 |
    r:1 E4:.5/so E4:.5/la G4:.5/di A4:.5/ra G4:.5/to E4:.5/ma | r:.5 G4:.5/li E4:2/so r:1 |
    r:1 G4:.5/ta G4:.5/ri B4:.5/la B4:.5/no A4:.5/we G4:.5/ri | r:.5 A4:.5/no G4:1/la D4:1/ro r:1 |
    r:1 F#4:.5/sa F#4:.5/le A4:.5/di A4:.5/ra G4:.5/so F#4:.5/na | r:.5 E4:.5/wi F#4:2.5/no r:.5`,
  lift: `C5:1.5/a A4:.5/la C5:1.5/no r:.5 | B4:1.5/ra G4:.5/la E4:1.5/no r:.5 | C5:1.5/ha A4:.5/la C5:1/no D5:1/la | D5:3.5/ra! r:.5`,
  chorus: `E5:1.5/ra! D5:.5/di C5:1/yo E5:1/la! | D5:2.5/no! B4:.5/sa G4:.5/li r:.5 | A4:1/ta! B4:.5/la A4:.5/we D5:1/no C5:1/la | B4:2.5/so r:1.5 |
    E5:1.5/ra! D5:.5/di C5:1/yo E5:1/la! | G5:1.5/no! F#5:.5 D5:1/la B4:.5/so r:.5 | A4:1/ta! B4:.5/la C5:.5/we D5:1/no E5:1/la | D5:3/ro! r:1`,
  bridge: `r:1 C5:1/o? B4:1 A4:1 | B4:3/no? r:1 | r:1 C5:1/o? B4:1 G4:1 | F#4:2/no? A4:1/la B4:1/ha!`,
};

function sung(section: PlacedSection): Note[] {
  const text = words[section.name];
  return text ? tune(text, section.beat, section.name === 'chorus' ? 0.9 : 0.7) : [];
}

/** A quick song in E minor: eighth-note bass, driven guitars to both sides, organ under the chorus, fills into every part. */
export const saltInTheRadio: Piece = {
  id: 'salt-in-the-radio',
  title: 'Salt in the Radio',
  artist: 'The Brindle Ferries',
  sampleRate: rate,
  needs: {
    bands: [
      { kind: 'bell', hz: 320, db: -1, q: 0.8 },
      { kind: 'highshelf', hz: 10000, db: 1 },
    ],
    lufs: -12,
  },
  mix(sections = plan.length) {
    const form = formOf(4, plan.slice(0, sections));
    const clock = clockOf(bpm, { leadInSeconds: 0.2, slowFromBeat: form.beats - 5, slowBy: 0.04 });
    const frames = Math.ceil((clock(form.beats) + 3.4) * rate);
    const [drums, guitar, hook, bass, keys, lead, second]: Note[][] = Array.from({ length: 7 }, () => []);
    for (const s of form.sections) {
      const tunes = sung(s);
      lead.push(...tunes);
      switch (s.name) {
        case 'intro':
          hook.push(...arpeggio(s, 4, '0.2.4.3.0.2.4.5.', { low: 64, voices: 3, level: 0.7, hold: 0.7 }));
          bass.push(
            ...bassLine(s, 4, '--------|--------|--------|--------|11111111|11111111|11111111|1111118a', {
              level: 0.7,
            }),
          );
          guitar.push(
            ...powerChords(
              s,
              4,
              '................|................|................|................|X.......x.......',
              0.8,
            ),
          );
          drums.push(
            ...groove(
              { ...s, beats: 16, bars: 4 },
              4,
              {
                hat: 'x...x...x...x...',
                kick: '................|................|x.......x.......|x...x...x...x...',
              },
              { level: 0.7 },
            ),
            hit('crash', s.beat + 16, 0.8),
            ...groove(
              { ...s, beat: s.beat + 16, beats: 16, bars: 4 },
              4,
              { kick: 'X.....x.X.......', snare: '....X.......X...', hat: 'x.x.x.x.x.x.x.x.' },
              { leaveLast: 2 },
            ),
            ...fill(s, 2, { snare: 'X.x.XXxX', kick: 'x...x...', tom1: '...x....' }),
          );
          break;
        case 'verse':
          bass.push(...bassLine(s, 4, '11111111|111111a1', { level: 0.72 }));
          guitar.push(...powerChords(s, 4, 'x.x.X...x.x.x.X.', 0.6));
          drums.push(
            ...groove(
              s,
              4,
              {
                kick: 'X.....x.X.x.....|X.....x.X.....x.',
                snare: '....X..g....X...|....X..g.g..X..g',
                hat: 'x.o.x.o.x.o.x.o.',
                open: '................|..............x.',
              },
              { level: 0.9, leaveLast: 1 },
            ),
            ...fill(s, 1, { snare: 'xXxX', kick: 'x...' }),
          );
          break;
        case 'lift':
          bass.push(...bassLine(s, 4, '1.1.1.1.1.1.1.1.|1.1.1.1.1.1.5.a.', { level: 0.75 }));
          guitar.push(...powerChords(s, 4, 'X.......X.......', 0.75));
          hook.push(...arpeggio(s, 4, '0.2.4.3.0.2.4.5.', { low: 64, voices: 3, level: 0.6, hold: 0.7 }));
          keys.push(...held(s, { low: 57, voices: 3, level: 0.6 }));
          drums.push(
            ...groove(
              s,
              4,
              { kick: 'x.x.x.x.x.x.x.x.', tom3: 'x..x..x.x..x..x.', tamb: '....x.......x...' },
              { level: 0.85, leaveLast: 2 },
            ),
            ...fill(s, 2, { snare: 'x.xxxxXX', tom2: '.x......', kick: 'x.x.x.x.', tom3: '......xX' }),
          );
          break;
        case 'chorus':
          bass.push(...bassLine(s, 4, '11111111|11115511|11111111|111187a1', { level: 0.88 }));
          guitar.push(...powerChords(s, 4, 'X...x.X.x.X.x.x.', 0.95));
          hook.push(...arpeggio(s, 4, '2...4...3...2...', { low: 67, voices: 3, level: 0.6, hold: 1.2 }));
          keys.push(...held(s, { low: 59, voices: 4, level: 0.75 }));
          drums.push(
            hit('crash', s.beat, 0.95),
            hit('crash', s.beat + 16, 0.75),
            ...groove(
              s,
              4,
              {
                kick: 'X..x..x.X.x.....|X..x..x.X...x.x.',
                snare: '....X.......X...|....X.......X..x',
                open: 'x...x...x...x...',
                tamb: '..x...x...x...x.',
              },
              { leaveLast: 2 },
            ),
            ...fill(s, 2, { snare: 'X.XX....', tom1: '....XX..', tom3: '......XX', kick: 'x...x.x.' }),
          );
          second.push(...inParallel(tunes, G, -2));
          if (s.turn > 0) second.push(...inParallel(tunes, G, 2, 0.2));
          break;
        case 'bridge':
          bass.push(...bassLine(s, 4, '1...............|1...........5.a.', { level: 0.65 }));
          hook.push(...arpeggio(s, 4, '0.1.2.3.4.3.2.1.', { low: 60, voices: 3, level: 0.65, hold: 1.5 }));
          keys.push(...held(s, { low: 55, voices: 3, level: 0.5 }));
          drums.push(
            hit('crash', s.beat, 0.5),
            ...groove(
              s,
              4,
              { ride: 'x...o...x...o...', rim: '........x.......', kick: 'x...............' },
              { level: 0.8, leaveLast: 4 },
            ),
            ...fill(s, 4, { snare: 'o.o.o.o.oxoxxxXX', kick: 'x...x...x...x...', tom3: '............x.xX' }),
          );
          second.push(...inParallel(tunes, G, -2, 0.15));
          break;
        default:
          bass.push(...bassLine(s, 4, '11111111|11111111|1111111a|1.......|........', { level: 0.8 }));
          guitar.push(
            ...powerChords(
              s,
              4,
              'X...x.X.x.X.x.x.|X...x.X.x.X.x.x.|X...x.X.x.X.x.x.|X...............|................',
              0.9,
            ),
          );
          hook.push(
            ...arpeggio({ ...s, bars: 3, beats: 12 }, 4, '0.2.4.3.0.2.4.5.', {
              low: 64,
              voices: 3,
              level: 0.7,
              hold: 0.7,
            }),
          );
          keys.push(...held(s, { low: 59, voices: 3, level: 0.55, overlap: 0 }));
          drums.push(
            hit('crash', s.beat, 0.85),
            ...groove(
              { ...s, bars: 3, beats: 12 },
              4,
              { kick: 'X..x..x.X.x.....', snare: '....X.......X...', open: 'x...x...x...x...' },
              { leaveLast: 1 },
            ),
            ...fill({ ...s, bars: 3, beats: 12 }, 1, { snare: 'XxXX', kick: 'x.x.' }),
            hit('crash', s.beat + 12, 0.95),
            hit('kick', s.beat + 12, 0.95),
            hit('snare', s.beat + 12, 0.6),
          );
      }
    }
    const id = this.id;
    const hits = play(drums, clock, { looseSeconds: 0.004, touch: 0.05, lateSeconds: -0.001 }, `${id} drums`);
    const tight = { looseSeconds: 0.005, touch: 0.05 };
    const singing = { looseSeconds: 0.01, lateSeconds: 0.008, touch: 0.04 };
    const kit = { ...roomKit, beater: 0.75, kickSeconds: 0.24, snareHz: 204, wires: 0.7, cymbals: 0.55 };
    const seconds = (n: string) => play(second, clock, singing, `${id} second ${n}`);
    return mixDown(
      [
        {
          name: 'kick',
          sound: drumKit(hits, frames, rate, kit, id, (w) => w === 'kick'),
          lufs: -21,
          bands: [
            { kind: 'bell', hz: 65, db: 3, q: 1.1 },
            { kind: 'bell', hz: 380, db: -4, q: 1 },
          ],
          room: -20,
        },
        {
          name: 'drums',
          sound: drumKit(hits, frames, rate, kit, id, (w) => w !== 'kick'),
          lufs: -21.5,
          bands: [{ kind: 'highshelf', hz: 7000, db: -4 }],
          compression: { thresholdDb: -14, ratio: 2, attackSeconds: 0.02, releaseSeconds: 0.1 },
          room: -9,
          hall: -26,
        },
        {
          name: 'bass',
          sound: bassGuitar(play(bass, clock, tight, `${id} bass`), frames, rate, id, { bright: 0.8 }),
          lufs: -19,
          bands: [{ kind: 'bell', hz: 80, db: 2, q: 0.8 }],
          compression: { thresholdDb: -22, ratio: 4, attackSeconds: 0.015, releaseSeconds: 0.1 },
        },
        {
          name: 'guitars',
          sound: doubled(
            electricGuitar(play(guitar, clock, tight, `${id} g1`), frames, rate, `${id} g1`, { drive: 0.75 }),
            electricGuitar(play(guitar, clock, tight, `${id} g2`), frames, rate, `${id} g2`, { drive: 0.65 }),
            0.85,
          ),
          lufs: -22.5,
          bands: [
            { kind: 'bell', hz: 600, db: -2, q: 0.8 },
            { kind: 'bell', hz: 1500, db: -1.5, q: 0.8 },
          ],
          room: -16,
        },
        {
          name: 'hook',
          sound: electricGuitar(play(hook, clock, tight, `${id} hook`), frames, rate, `${id} hook`, {
            drive: 0.2,
          }),
          pan: 0.25,
          lufs: -26,
          hall: -16,
          echo: -12,
        },
        {
          name: 'organ',
          sound: chorus(organ(play(keys, clock, {}, `${id} organ`), frames, rate), rate, {
            hz: 5.8,
            depthSeconds: 0.0005,
          }),
          lufs: -28,
          bands: [{ kind: 'lowcut', hz: 160 }],
          room: -14,
          hall: -20,
        },
        {
          name: 'lead',
          sound: voice(
            play(lead, clock, singing, `${id} lead`),
            frames,
            rate,
            { ...leadSinger, vibrato: 0.2, breath: 0.4 },
            `${id} lead`,
          ),
          lufs: -19.5,
          bands: [
            { kind: 'lowcut', hz: 140 },
            { kind: 'bell', hz: 800, db: -3, q: 0.7 },
            { kind: 'bell', hz: 3400, db: 1.5, q: 0.8 },
            { kind: 'highshelf', hz: 9000, db: 1 },
          ],
          compression: { thresholdDb: -22, ratio: 4, attackSeconds: 0.006, releaseSeconds: 0.1 },
          room: -16,
          hall: -20,
          echo: -20,
        },
        {
          name: 'seconds',
          sound: doubled(
            voice(seconds('a'), frames, rate, secondSinger, `${id} second a`),
            voice(seconds('b'), frames, rate, secondSinger, `${id} second b`),
            0.7,
          ),
          lufs: -26,
          bands: [{ kind: 'lowcut', hz: 200 }],
          hall: -12,
        },
      ],
      {
        rate,
        room: { decaySeconds: 0.45, preDelaySeconds: 0.004, size: 0.38, dampHz: 6000, lowCutHz: 150 },
        hall: { decaySeconds: 1.3, preDelaySeconds: 0.02, size: 0.8, dampHz: 4800, lowCutHz: 250 },
        echoSeconds: (60 / bpm) * 0.75,
        bus: [
          { kind: 'lowshelf', hz: 130, db: 4 },
          { kind: 'bell', hz: 260, db: 4, q: 0.8 },
          { kind: 'bell', hz: 650, db: -2, q: 0.6 },
          { kind: 'highshelf', hz: 1800, db: -2.5, q: 0.5 },
        ],
        fadeSeconds: 1.6,
        peakDbfs: -3.5,
      },
    );
  },
};
