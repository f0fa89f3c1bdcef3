import { formOf } from '../form.ts';
import { bassGuitar } from '../instruments/bass.ts';
import { drumKit } from '../instruments/drum-kit.ts';
import { roomKit } from '../instruments/drum-sounds.ts';
import { electricGuitar } from '../instruments/guitar.ts';
import { voice } from '../instruments/voice.ts';
import { mixDown } from '../mixing/desk.ts';
import { doubled } from '../mixing/stereo.ts';
import type { Piece } from '../piece.ts';
import { bassLine } from '../players/bass-line.ts';
import { arpeggio, powerChords } from '../players/chords.ts';
import { fill, groove, hit } from '../players/drummer.ts';
import { tune } from '../players/melody.ts';
import { clockOf, type Note, play } from '../score.ts';

const rate = 44100;
const plan = [
  { name: 'intro', chords: 'A | A | F#m | D' },
  { name: 'verse', chords: 'A | A | F#m | F#m | D | D | E | E' },
  { name: 'chorus', chords: 'D | A | E | F#m | D | A | E | E' },
  { name: 'end', chords: 'A | A' },
];
const tunes: Readonly<Record<string, string>> = {
  verse: `r:.5 C#4:.5/da E4:.5/di E4:.5/na F#4:.5/ta E4:.5/ri C#4:1/no | r:1 E4:.5/so F#4:.5/la E4:1.5/no r:.5 | r:.5 C#4:.5/da F#4:.5/di F#4:.5/na A4:.5/ta F#4:.5/ri E4:1/no |
    r:1 C#4:.5/so E4:.5/la C#4:1.5/no r:.5 | r:.5 D4:.5/wa F#4:.5/li A4:.5/no A4:1/ta F#4:1/la | A4:1/so F#4:1/no D4:1.5/la r:.5 | r:.5 E4:.5/da G#4:.5/di B4:.5/na B4:1/ra! G#4:1/la | B4:3/yo! r:1`,
  chorus: `A4:1/ha! A4:.5/la F#4:.5/no A4:1.5/ra B4:.5/la | C#5:2.5/yo! A4:.5/la B4:.5/no r:.5 | B4:1/ha! B4:.5/la G#4:.5/no B4:1.5/ra C#5:.5/la | A4:2.5/no r:1.5 |
    A4:1/ha! A4:.5/la F#4:.5/no A4:1.5/ra B4:.5/la | E5:2.5/yo! C#5:.5/la B4:.5/no r:.5 | B4:1/ha! C#5:.5/la B4:.5/no G#4:1.5/ra A4:.5/la | B4:3/no r:1`,
};

/** Loud, quick and plain: two driven guitars, bass, kit and a shouted tune. */
export const copperOverpass: Piece = {
  id: 'copper-overpass',
  title: 'Copper Overpass',
  artist: 'Ninth Gantry',
  sampleRate: rate,
  needs: { bands: [{ kind: 'bell', hz: 300, db: -1, q: 0.8 }], lufs: -11.5 },
  mix(sections = plan.length) {
    const form = formOf(4, plan.slice(0, sections));
    const clock = clockOf(152, { leadInSeconds: 0.15 });
    const frames = Math.ceil((clock(form.beats) + 2.6) * rate);
    const [drums, guitar, high, bass, lead]: Note[][] = [[], [], [], [], []];
    for (const s of form.sections) {
      lead.push(...tune(tunes[s.name] ?? '', s.beat, s.name === 'chorus' ? 0.92 : 0.78));
      const end = s.name === 'end';
      bass.push(...bassLine(s, 4, end ? '1.......|........' : '11111111|111115a1', { level: 0.85 }));
      guitar.push(
        ...powerChords(
          s,
          4,
          end
            ? 'X...............|................'
            : s.name === 'verse'
              ? 'x.x.X.x.x.x.X.x.'
              : 'X.x.X.x.X.x.X.X.',
          0.9,
        ),
      );
      if (s.name === 'intro' || s.name === 'chorus')
        high.push(...arpeggio(s, 4, '2.2.3.2.4.2.3.2.', { low: 64, voices: 3, level: 0.65, hold: 0.4 }));
      drums.push(hit('crash', s.beat, 0.9));
      if (end) drums.push(hit('kick', s.beat, 0.95), hit('snare', s.beat, 0.7));
      else
        drums.push(
          ...groove(
            s,
            4,
            {
              kick: 'X.....x.X.X.....',
              snare: '....X.......X...',
              [s.name === 'verse' ? 'hat' : 'open']: 'x.x.x.x.x.x.x.x.'.replaceAll(
                '.x.x',
                s.name === 'verse' ? '.o.x' : '...x',
              ),
            },
            { leaveLast: 2 },
          ),
          ...fill(s, 2, { snare: 'X.XxXXXX', tom1: '.x......', kick: 'x...x...' }),
        );
    }
    const id = this.id;
    const tight = { looseSeconds: 0.005 };
    const kit = { ...roomKit, beater: 0.8, kickSeconds: 0.22, snareHz: 210, wires: 0.75 };
    const hits = play(drums, clock, { looseSeconds: 0.004 }, `${id} drums`);
    return mixDown(
      [
        {
          name: 'kick',
          sound: drumKit(hits, frames, rate, kit, id, (w) => w === 'kick'),
          lufs: -20,
          bands: [{ kind: 'bell', hz: 68, db: 3, q: 1 }],
          room: -20,
        },
        {
          name: 'drums',
          sound: drumKit(hits, frames, rate, kit, id, (w) => w !== 'kick'),
          lufs: -21.5,
          bands: [{ kind: 'highshelf', hz: 7000, db: -5 }],
          compression: { thresholdDb: -14, ratio: 2.5, attackSeconds: 0.015, releaseSeconds: 0.08 },
          room: -8,
        },
        {
          name: 'bass',
          sound: bassGuitar(play(bass, clock, tight, `${id} bass`), frames, rate, id, { bright: 0.9 }),
          lufs: -18.5,
          bands: [{ kind: 'bell', hz: 85, db: 2, q: 0.8 }],
          compression: { thresholdDb: -22, ratio: 4, attackSeconds: 0.012, releaseSeconds: 0.09 },
        },
        {
          name: 'guitars',
          sound: doubled(
            electricGuitar(play(guitar, clock, tight, `${id} g1`), frames, rate, `${id} g1`, { drive: 0.85 }),
            electricGuitar(play(guitar, clock, tight, `${id} g2`), frames, rate, `${id} g2`, { drive: 0.8 }),
            0.9,
          ),
          lufs: -21.5,
          bands: [{ kind: 'bell', hz: 700, db: -3, q: 0.7 }],
          room: -15,
        },
        {
          name: 'high guitar',
          sound: electricGuitar(play(high, clock, tight, `${id} high`), frames, rate, `${id} high`, {
            drive: 0.45,
          }),
          pan: -0.3,
          lufs: -26,
          hall: -14,
        },
        {
          name: 'lead',
          sound: voice(
            play(lead, clock, { looseSeconds: 0.01 }, `${id} lead`),
            frames,
            rate,
            { tract: 1.02, breath: 0.35, vibrato: 0.12, vibratoHz: 5.6, scoop: 1.6 },
            `${id} lead`,
          ),
          lufs: -20.5,
          bands: [
            { kind: 'lowcut', hz: 140 },
            { kind: 'bell', hz: 800, db: -2, q: 0.7 },
          ],
          compression: { thresholdDb: -22, ratio: 4, attackSeconds: 0.005, releaseSeconds: 0.08 },
          room: -14,
          echo: -22,
        },
      ],
      {
        rate,
        room: { decaySeconds: 0.4, preDelaySeconds: 0.003, size: 0.36, dampHz: 6000 },
        hall: { decaySeconds: 1.1, preDelaySeconds: 0.015, size: 0.7, dampHz: 5000 },
        echoSeconds: 60 / 152 / 2,
        bus: [
          { kind: 'lowshelf', hz: 130, db: 2 },
          { kind: 'bell', hz: 260, db: 3.5, q: 0.8 },
          { kind: 'bell', hz: 650, db: -2, q: 0.6 },
          { kind: 'highshelf', hz: 1800, db: -2.5, q: 0.5 },
        ],
        fadeSeconds: 1.4,
        peakDbfs: -3.5,
      },
    );
  },
};
