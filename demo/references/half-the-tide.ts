import { formOf } from '../form.ts';
import { bassGuitar } from '../instruments/bass.ts';
import { drumKit } from '../instruments/drum-kit.ts';
import { roomKit } from '../instruments/drum-sounds.ts';
import { piano } from '../instruments/keys.ts';
import { bowed, pad } from '../instruments/pad.ts';
import { voice } from '../instruments/voice.ts';
import { mixDown } from '../mixing/desk.ts';
import type { Piece } from '../piece.ts';
import { bassLine } from '../players/bass-line.ts';
import { arpeggio, comp, held } from '../players/chords.ts';
import { fill, groove, hit } from '../players/drummer.ts';
import { tune } from '../players/melody.ts';
import { clockOf, type Note, play } from '../score.ts';

const rate = 44100;
const plan = [
  { name: 'intro', chords: 'Eb | Bb/D' },
  { name: 'verse', chords: 'Cm7 | Abmaj7 | Eb | Bb' },
  { name: 'chorus', chords: 'Ab | Eb/G | Bb | Cm | Ab | Eb/G | Bb | Bb' },
  { name: 'end', chords: 'Abmaj7 | Eb' },
];
const tunes: Readonly<Record<string, string>> = {
  verse: `r:.5 G4:.5/na G4:.5/la F4:.5/no Eb4:1/we G4:1/ra | r:.5 G4:.5/so Ab4:.5/la G4:.5/no Eb4:2/ma | r:.5 G4:.5/lo Bb4:.5/na Bb4:.5/la C5:1/no Bb4:1/we | F4:1/na G4:.5/la F4:2/no r:.5`,
  chorus: `C5:1.5/ha! Bb4:.5/la C5:1/no Eb5:1/ra! | D5:.5/na Bb4:2.5/lo r:1 | Bb4:1.5/ha! Ab4:.5/la Bb4:1/no D5:1/ra | C5:2.5/yo r:1.5 |
    C5:1.5/ha! Bb4:.5/la C5:1/no Eb5:1/ra! | G5:1.5/na! F5:.5 Eb5:1/lo Bb4:.5/la r:.5 | C5:1/so Bb4:1/la Ab4:1/no F4:1/we | Bb4:3/no r:1`,
  end: `G4:1/na? Ab4:1 G4:1.5/lo r:.5 | Eb4:3/no? r:1`,
};

/** A ballad at the piano that opens out into a full band. */
export const halfTheTide: Piece = {
  id: 'half-the-tide',
  title: 'Half the Tide',
  artist: 'Perrin Oakley-Voss',
  sampleRate: rate,
  needs: { bands: [{ kind: 'highshelf', hz: 8000, db: 1.5 }], lufs: -13.5 },
  mix(sections = plan.length) {
    const form = formOf(4, plan.slice(0, sections));
    const clock = clockOf(78, { leadInSeconds: 0.25, slowFromBeat: form.beats - 6, slowBy: 0.05 });
    const frames = Math.ceil((clock(form.beats) + 3.6) * rate);
    const [drums, keys, bass, strings, lead]: Note[][] = [[], [], [], [], []];
    for (const s of form.sections) {
      lead.push(...tune(tunes[s.name] ?? '', s.beat, s.name === 'chorus' ? 0.82 : 0.58));
      if (s.name === 'chorus') {
        keys.push(
          ...comp(s, 4, 'X.x.x.x.X.x.x.x.', { low: 58, voices: 4, level: 0.85 }),
          ...bassLine(s, 4, '1.......1.......', { low: 36, level: 0.8, length: 1 }),
        );
        bass.push(...bassLine(s, 4, '1.....1.1.....5.|1.....1.1...5.a.', { level: 0.8 }));
        strings.push(...held(s, { low: 62, voices: 4, level: 0.75 }));
        drums.push(
          hit('crash', s.beat, 0.75),
          ...groove(
            s,
            4,
            { kick: 'X.....x.x.......|X.....x.x.x.....', snare: '....X..g....X...', hat: 'x.o.x.o.x.o.x.o.' },
            { leaveLast: 2 },
          ),
          ...fill(s, 2, { tom1: 'x.x.....', tom2: '....xx..', tom3: '......xX', kick: 'x...x...' }),
        );
      } else {
        keys.push(
          ...arpeggio(s, 4, '0.2.3.4.3.2.3.2.', { low: 55, voices: 4, level: 0.6, hold: 1.5 }),
          ...bassLine(s, 4, '1.......', { low: 36, level: 0.6, length: 1 }),
        );
        if (s.name !== 'intro') strings.push(...held(s, { low: 55, voices: 3, level: 0.35 }));
        if (s.name === 'verse') {
          bass.push(...bassLine(s, 4, '1.......', { level: 0.6 }));
          drums.push(
            ...groove(
              s,
              4,
              { kick: 'o...............', rim: '........o.......', hat: 'o...o...o...o...' },
              { level: 0.8, leaveLast: 1 },
            ),
            ...fill(s, 1, { snare: 'oxxX' }),
          );
        }
        if (s.name === 'end') drums.push(hit('crash', s.beat, 0.4), hit('kick', s.beat, 0.6));
      }
    }
    const id = this.id;
    const soft = { looseSeconds: 0.009, touch: 0.06 };
    const kit = { ...roomKit, snareHz: 174, snareSeconds: 0.24, beater: 0.4 };
    const hits = play(drums, clock, { looseSeconds: 0.005 }, `${id} drums`);
    return mixDown(
      [
        {
          name: 'kick',
          sound: drumKit(hits, frames, rate, kit, id, (w) => w === 'kick'),
          lufs: -21.5,
          bands: [{ kind: 'bell', hz: 62, db: 3, q: 1 }],
          room: -18,
        },
        {
          name: 'drums',
          sound: drumKit(hits, frames, rate, kit, id, (w) => w !== 'kick'),
          lufs: -23,
          bands: [{ kind: 'highshelf', hz: 7000, db: -3 }],
          room: -10,
          hall: -18,
        },
        {
          name: 'bass',
          sound: bassGuitar(play(bass, clock, soft, `${id} bass`), frames, rate, id),
          lufs: -19.5,
          compression: { thresholdDb: -20, ratio: 3, attackSeconds: 0.02, releaseSeconds: 0.15 },
        },
        {
          name: 'piano',
          sound: piano(play(keys, clock, soft, `${id} piano`), frames, rate, id, { felt: 0.15, width: 0.8 }),
          lufs: -21,
          bands: [{ kind: 'bell', hz: 400, db: -2, q: 0.8 }],
          room: -16,
          hall: -16,
        },
        {
          name: 'strings',
          sound: pad(play(strings, clock, soft, `${id} strings`), frames, rate, id, bowed),
          lufs: -25,
          bands: [{ kind: 'lowcut', hz: 180 }],
          hall: -8,
        },
        {
          name: 'lead',
          sound: voice(
            play(lead, clock, { looseSeconds: 0.014, lateSeconds: 0.014 }, `${id} lead`),
            frames,
            rate,
            { tract: 1, breath: 0.5, vibrato: 0.35, vibratoHz: 5.3, scoop: 1 },
            `${id} lead`,
          ),
          lufs: -20,
          bands: [
            { kind: 'lowcut', hz: 110 },
            { kind: 'bell', hz: 750, db: -3, q: 0.7 },
            { kind: 'highshelf', hz: 8500, db: 3 },
          ],
          compression: { thresholdDb: -20, ratio: 3, attackSeconds: 0.008, releaseSeconds: 0.12 },
          room: -20,
          hall: -12,
        },
      ],
      {
        rate,
        room: { decaySeconds: 0.5, preDelaySeconds: 0.006, size: 0.45, dampHz: 6500 },
        hall: { decaySeconds: 2.3, preDelaySeconds: 0.035, size: 1, dampHz: 5500 },
        echoSeconds: 0.5,
        bus: [
          { kind: 'lowshelf', hz: 130, db: 3.5 },
          { kind: 'bell', hz: 650, db: -5.5, q: 0.6 },
          { kind: 'highshelf', hz: 8500, db: 1.5 },
        ],
        fadeSeconds: 2.2,
        peakDbfs: -4.5,
      },
    );
  },
};
