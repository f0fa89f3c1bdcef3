import { formOf } from '../form.ts';
import { synthBass } from '../instruments/bass.ts';
import { drumKit } from '../instruments/drum-kit.ts';
import { roomKit } from '../instruments/drum-sounds.ts';
import { bowed, pad, pluckedSynth } from '../instruments/pad.ts';
import { mixDown } from '../mixing/desk.ts';
import { duck } from '../mixing/duck.ts';
import type { Piece } from '../piece.ts';
import { bassLine } from '../players/bass-line.ts';
import { arpeggio, comp, held } from '../players/chords.ts';
import { fill, groove, hit } from '../players/drummer.ts';
import { tune } from '../players/melody.ts';
import { clockOf, type Note, play } from '../score.ts';

const rate = 48000;
const bpm = 122;
const plan = [
  { name: 'intro', chords: 'Fm7 | Dbmaj7 | Ab | Eb' },
  { name: 'build', chords: 'Fm7 | Dbmaj7 | Ab | Eb' },
  { name: 'main', chords: 'Fm7 | Dbmaj7 | Ab | Eb | Fm7 | Dbmaj7 | Ab | Eb' },
  { name: 'rest', chords: 'Dbmaj7 | Eb | Fm7 | Fm7' },
  { name: 'end', chords: 'Fm7 | Fm7' },
];
const hook = `C5:.75 Ab4:.75 F4:.5 Ab4:1 C5:.5 Eb5:.5 | F5:1.5 Eb5:.5 C5:1.5 r:.5 | Eb5:.75 C5:.75 Ab4:.5 C5:1 Eb5:1 | Bb4:2.5 r:1.5`;

/** Machines only: a four-to-the-floor kick that everything else makes room for. */
export const glassEscalator: Piece = {
  id: 'glass-escalator',
  title: 'Glass Escalator',
  artist: 'Nocto Parade',
  sampleRate: rate,
  needs: { bands: [{ kind: 'highshelf', hz: 9000, db: 0.5 }], lufs: -12 },
  mix(sections = plan.length) {
    const form = formOf(4, plan.slice(0, sections));
    const clock = clockOf(bpm, { leadInSeconds: 0.12 });
    const frames = Math.ceil((clock(form.beats) + 3) * rate);
    const [drums, bass, arp, stabs, air, lead]: Note[][] = [[], [], [], [], [], []];
    for (const s of form.sections) {
      if (s.name !== 'end')
        arp.push(
          ...arpeggio(s, 4, '0.2.4.3.5.4.2.3.', {
            low: 60,
            voices: 4,
            level: s.name === 'main' ? 0.7 : 0.55,
            hold: 0.22,
          }),
        );
      air.push(...held(s, { low: 53, voices: 4, level: s.name === 'rest' ? 0.75 : 0.55 }));
      if (s.name === 'build')
        drums.push(
          ...groove(s, 4, { kick: 'X...X...X...X...', hat: '..x...x...x...x.' }, { leaveLast: 2 }),
          ...fill(s, 2, { snare: 'o.o.oxoxxxxxXXXX' }, 0.85),
        );
      if (s.name === 'main') {
        drums.push(
          hit('crash', s.beat, 0.7),
          ...groove(s, 4, {
            kick: 'X...X...X...X...',
            clap: '....x.......x...',
            open: '..x...x...x...x.',
            hat: 'o..oo..oo..oo..o',
            shaker: 'oxoxoxoxoxoxoxox',
          }),
        );
        lead.push(...tune(hook, s.beat, 0.75), ...tune(hook, s.beat + 16, 0.8));
      }
      if (s.name === 'rest')
        drums.push(...groove(s, 4, { shaker: 'o.x.o.x.o.x.o.x.', clap: '............o...' }, { level: 0.8 }));
      if (s.name === 'main' || s.name === 'build') {
        bass.push(...bassLine(s, 4, '..1...1...1..81.', { level: 0.85, low: 29 }));
        stabs.push(...comp(s, 4, '...X..X....X..x.', { low: 60, voices: 4, level: 0.8, short: 0.18 }));
      }
      if (s.name === 'end') {
        drums.push(hit('kick', s.beat, 0.9), hit('crash', s.beat, 0.6));
        bass.push(...bassLine(s, 4, '1...............|................', { level: 0.7, low: 29 }));
      }
    }
    const id = this.id;
    const exact = { looseSeconds: 0.0008, touch: 0.03 };
    const kit = { ...roomKit, kickHz: 47, kickSeconds: 0.26, beater: 0.6, cymbals: 0.6 };
    const hits = play(drums, clock, exact, `${id} drums`);
    const kicks = hits.filter((h) => h.word === 'kick').map((h) => h.atSeconds);
    const synth = (notes: Note[], name: string, voice: typeof bowed) =>
      duck(
        pad(play(notes, clock, exact, `${id} ${name}`), frames, rate, `${id} ${name}`, voice),
        rate,
        kicks,
      );
    return mixDown(
      [
        { name: 'kick', sound: drumKit(hits, frames, rate, kit, id, (w) => w === 'kick'), lufs: -18 },
        {
          name: 'drums',
          sound: drumKit(hits, frames, rate, kit, id, (w) => w !== 'kick'),
          lufs: -24,
          bands: [{ kind: 'highshelf', hz: 8000, db: -4 }],
          room: -14,
        },
        {
          name: 'bass',
          sound: duck(
            synthBass(play(bass, clock, exact, `${id} bass`), frames, rate, { growl: 0.7 }),
            rate,
            kicks,
          ),
          lufs: -18.5,
        },
        {
          name: 'arpeggio',
          sound: synth(arp, 'arpeggio', pluckedSynth),
          lufs: -24,
          bands: [{ kind: 'lowcut', hz: 200 }],
          hall: -16,
          echo: -10,
        },
        {
          name: 'stabs',
          sound: synth(stabs, 'stabs', { ...pluckedSynth, fromHz: 3200, openSeconds: 0.1 }),
          lufs: -24.5,
          bands: [{ kind: 'lowcut', hz: 180 }],
          hall: -12,
        },
        {
          name: 'air',
          sound: synth(air, 'air', { ...bowed, fromHz: 500, toHz: 3800, openSeconds: 1.2 }),
          lufs: -24.5,
          bands: [{ kind: 'lowcut', hz: 150 }],
          hall: -10,
        },
        {
          name: 'lead',
          sound: synth(lead, 'lead', {
            ...pluckedSynth,
            fromHz: 4500,
            toHz: 1800,
            openSeconds: 0.4,
            spread: 0.07,
          }),
          lufs: -22,
          bands: [{ kind: 'lowcut', hz: 220 }],
          hall: -14,
          echo: -12,
        },
      ],
      {
        rate,
        room: { decaySeconds: 0.35, preDelaySeconds: 0.004, size: 0.35, dampHz: 8000 },
        hall: { decaySeconds: 2.2, preDelaySeconds: 0.02, size: 1, dampHz: 6500, lowCutHz: 250 },
        echoSeconds: (60 / bpm) * 0.75,
        echoFeedback: 0.5,
        bus: [
          { kind: 'lowshelf', hz: 100, db: -2 },
          { kind: 'bell', hz: 650, db: -3, q: 0.6 },
          { kind: 'highshelf', hz: 8500, db: -3 },
        ],
        fadeSeconds: 2,
        peakDbfs: -4,
      },
    );
  },
};
