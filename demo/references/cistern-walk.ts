import { formOf } from '../form.ts';
import { bassGuitar } from '../instruments/bass.ts';
import { drumKit } from '../instruments/drum-kit.ts';
import { roomKit } from '../instruments/drum-sounds.ts';
import { electricGuitar } from '../instruments/guitar.ts';
import { organ } from '../instruments/keys.ts';
import { mallets } from '../instruments/mallets.ts';
import { chorus } from '../mixing/chorus.ts';
import { mixDown } from '../mixing/desk.ts';
import type { Piece } from '../piece.ts';
import { bassLine } from '../players/bass-line.ts';
import { comp, strum } from '../players/chords.ts';
import { fill, groove, hit } from '../players/drummer.ts';
import { tune } from '../players/melody.ts';
import { clockOf, type Note, play } from '../score.ts';

const rate = 48000;
const bpm = 74;
const plan = [
  { name: 'intro', chords: 'Dm7 | Dm7' },
  { name: 'walk', chords: 'Dm7 | Dm7 | Gm7 | Dm7 | Dm7 | C | Gm7 | Dm7' },
  { name: 'end', chords: 'Dm7 | Dm7' },
];
const bells = `r:1 A4:.5 C5:.5 D5:2 | r:2.5 C5:.5 A4:1 | r:1 Bb4:.5 D5:.5 F5:1.5 r:.5 | r:3 A4:1 | r:1 F4:.5 A4:.5 C5:2 | r:2 G4:1 E4:1 | r:1 Bb4:.5 A4:.5 G4:2 | A4:2 r:2`;

/** Much room, few notes: bass in front, everything else an echo. */
export const cisternWalk: Piece = {
  id: 'cistern-walk',
  title: 'Cistern Walk',
  artist: 'The Low Cistern Players',
  sampleRate: rate,
  needs: { bands: [{ kind: 'highshelf', hz: 7000, db: 2 }], lufs: -14 },
  mix(sections = plan.length) {
    const form = formOf(4, plan.slice(0, sections));
    const clock = clockOf(bpm, { leadInSeconds: 0.2 });
    const frames = Math.ceil((clock(form.beats) + 4) * rate);
    const [drums, bass, skank, keys, tuned]: Note[][] = [[], [], [], [], []];
    for (const s of form.sections) {
      if (s.name === 'intro') {
        drums.push(
          ...groove(
            s,
            4,
            { hat: 'x.o.x.oox.o.x.oo', rim: '................|........x.......' },
            { level: 0.8, leaveLast: 1 },
          ),
          ...fill(s, 1, { tom1: 'x.x.', tom3: '...X' }),
        );
        skank.push(...strum(s, 4, '....d.......d...', 0.8, 5));
      } else if (s.name === 'walk') {
        drums.push(
          ...groove(
            s,
            4,
            {
              kick: '........X.......|........X.....o.',
              rim: '........x.......|........x..o....',
              hat: 'x.o.x.oox.o.x.oo',
              open: '................|..............x.',
            },
            { level: 0.9, leaveLast: 1 },
          ),
          hit('crash', s.beat, 0.45),
          ...fill(s, 1, { snare: 'x.xX', tom2: '.x..' }),
        );
        bass.push(
          ...bassLine(s, 4, '1..1..5.8...5.3.|1..1..5.....-...', { level: 0.85, low: 26, length: 0.85 }),
        );
        skank.push(...strum(s, 4, '....D.......D...', 0.9, 5));
        keys.push(...comp(s, 4, '..x...x...x...x.', { low: 57, voices: 3, level: 0.7, short: 0.2 }));
        tuned.push(...tune(bells, s.beat, 0.6));
      } else {
        drums.push(hit('kick', s.beat, 0.9), hit('rim', s.beat, 0.7), hit('crash', s.beat, 0.35));
        bass.push(...bassLine(s, 4, '1.......5...1...|1.......--------', { level: 0.75, low: 26 }));
        skank.push(...strum({ ...s, bars: 1, beats: 4 }, 4, '....d...........', 0.8, 5));
        tuned.push(...tune('r:1 A4:.5 F4:.5 D4:2', s.beat, 0.5));
      }
    }
    const id = this.id;
    const easy = { looseSeconds: 0.007, lateSeconds: 0.004, swing: 0.14, touch: 0.06 };
    const kit = { ...roomKit, kickHz: 49, kickSeconds: 0.32, beater: 0.3, snareHz: 230, cymbals: 0.45 };
    const hits = play(drums, clock, { ...easy, lateSeconds: 0 }, `${id} drums`);
    return mixDown(
      [
        {
          name: 'kick',
          sound: drumKit(hits, frames, rate, kit, id, (w) => w === 'kick'),
          lufs: -21,
          room: -18,
        },
        {
          name: 'drums',
          sound: drumKit(hits, frames, rate, kit, id, (w) => w !== 'kick'),
          lufs: -23,
          bands: [{ kind: 'highshelf', hz: 8000, db: -2 }],
          room: -12,
          hall: -17,
          echo: -18,
        },
        {
          name: 'bass',
          sound: bassGuitar(play(bass, clock, easy, `${id} bass`), frames, rate, id, { bright: 0.25 }),
          lufs: -18.5,
          bands: [{ kind: 'bell', hz: 90, db: 1, q: 0.8 }],
          compression: { thresholdDb: -20, ratio: 3, attackSeconds: 0.02, releaseSeconds: 0.15 },
        },
        {
          name: 'guitar',
          sound: electricGuitar(
            play(
              skank.map((n) => ({ ...n, beats: Math.min(n.beats, 0.14) })),
              clock,
              easy,
              `${id} guitar`,
            ),
            frames,
            rate,
            `${id} guitar`,
            { drive: 0.1 },
          ),
          pan: 0.45,
          lufs: -24,
          bands: [{ kind: 'lowcut', hz: 250 }],
          room: -14,
          echo: -8,
        },
        {
          name: 'organ',
          sound: chorus(organ(play(keys, clock, easy, `${id} organ`), frames, rate), rate),
          lufs: -26,
          bands: [{ kind: 'lowcut', hz: 200 }],
          room: -14,
          hall: -16,
        },
        {
          name: 'bells',
          sound: mallets(play(tuned, clock, easy, `${id} bells`), frames, rate, 'wood'),
          pan: -0.35,
          lufs: -24,
          hall: -10,
          echo: -8,
        },
      ],
      {
        rate,
        room: { decaySeconds: 0.6, preDelaySeconds: 0.006, size: 0.5, dampHz: 7000 },
        hall: { decaySeconds: 2.8, preDelaySeconds: 0.04, size: 1, dampHz: 5000, lowCutHz: 250 },
        echoSeconds: (60 / bpm) * 0.75,
        echoFeedback: 0.62,
        bus: [
          { kind: 'lowshelf', hz: 130, db: 4 },
          { kind: 'bell', hz: 260, db: 1.5, q: 0.8 },
          { kind: 'bell', hz: 650, db: -4, q: 0.6 },
          { kind: 'highshelf', hz: 8500, db: 2 },
        ],
        fadeSeconds: 2.4,
        peakDbfs: -4.5,
      },
    );
  },
};
