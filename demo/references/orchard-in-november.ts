import { formOf } from '../form.ts';
import { bassGuitar } from '../instruments/bass.ts';
import { acousticGuitar } from '../instruments/guitar.ts';
import { bowed, pad } from '../instruments/pad.ts';
import { voice } from '../instruments/voice.ts';
import { mixDown } from '../mixing/desk.ts';
import type { Piece } from '../piece.ts';
import { bassLine } from '../players/bass-line.ts';
import { fingerpick, held } from '../players/chords.ts';
import { tune } from '../players/melody.ts';
import { clockOf, type Note, play } from '../score.ts';

const rate = 48000;
const plan = [
  { name: 'intro', chords: 'G | Cadd9' },
  { name: 'verse', chords: 'G | D/F# | Em7 | Cadd9 | G | D/F# | C | G' },
  { name: 'outro', chords: 'C | G' },
];
const verse = `r:1 B4:1/na A4:.5/la G4:.5/no D4:1/we | r:.5 A4:.5/so F#4:.5/la E4:.5/no D4:2/ma | r:1 G4:1/lo B4:.5/na A4:.5/la G4:1/no |
  E4:1.5/we D4:2/no r:.5 | r:1 B4:1/na D5:.5/la C5:.5/ro B4:1/we | A4:1.5/so F#4:.5/la A4:1.5/no r:.5 | G4:1/na E4:1/la C4:1/lo E4:1/na | D4:3/no r:1`;

/** One guitar, one voice, a bowed bass note or two: slow, close and quiet. */
export const orchardInNovember: Piece = {
  id: 'orchard-in-november',
  title: 'Orchard in November',
  artist: 'Ila Fennwick',
  sampleRate: rate,
  needs: { bands: [{ kind: 'highshelf', hz: 8000, db: 2 }], lufs: -16.5 },
  mix(sections = plan.length) {
    const form = formOf(4, plan.slice(0, sections));
    const clock = clockOf(70, { leadInSeconds: 0.3, slowFromBeat: form.beats - 6, slowBy: 0.06 });
    const frames = Math.ceil((clock(form.beats) + 3.4) * rate);
    const [guitar, bass, strings, lead]: Note[][] = [[], [], [], []];
    for (const s of form.sections) {
      guitar.push(...fingerpick(s, 4, '0.3.2.4.0.5.2.3.', s.name === 'verse' ? 0.95 : 0.8));
      if (s.name === 'verse') {
        lead.push(...tune(verse, s.beat, 0.55));
        bass.push(...bassLine(s, 4, '1.....5.', { level: 0.6 }));
      }
      if (s.name !== 'intro') strings.push(...held(s, { low: 55, voices: 3, level: 0.4 }));
      if (s.name === 'outro') bass.push(...bassLine(s, 4, '1.......', { level: 0.55 }));
    }
    const id = this.id;
    const soft = { looseSeconds: 0.012, touch: 0.07 };
    return mixDown(
      [
        {
          name: 'guitar',
          sound: acousticGuitar(play(guitar, clock, soft, `${id} guitar`), frames, rate, id, {
            bright: 0.65,
          }),
          pan: -0.1,
          lufs: -20,
          room: -14,
          hall: -15,
        },
        {
          name: 'bass',
          sound: bassGuitar(play(bass, clock, soft, `${id} bass`), frames, rate, id, {
            wood: true,
            bright: 0.3,
          }),
          lufs: -18.5,
          room: -20,
        },
        {
          name: 'strings',
          sound: pad(play(strings, clock, soft, `${id} strings`), frames, rate, id, bowed),
          lufs: -29,
          bands: [{ kind: 'lowcut', hz: 180 }],
          hall: -8,
        },
        {
          name: 'lead',
          sound: voice(
            play(lead, clock, { looseSeconds: 0.015, lateSeconds: 0.02 }, `${id} lead`),
            frames,
            rate,
            { tract: 0.86, breath: 0.9, vibrato: 0.22, vibratoHz: 5.2, scoop: 0.8 },
            `${id} lead`,
          ),
          lufs: -20,
          bands: [
            { kind: 'lowcut', hz: 110 },
            { kind: 'bell', hz: 750, db: -3, q: 0.7 },
            { kind: 'highshelf', hz: 8000, db: 5 },
          ],
          compression: { thresholdDb: -20, ratio: 2.5, attackSeconds: 0.01, releaseSeconds: 0.15 },
          room: -18,
          hall: -13,
        },
      ],
      {
        rate,
        room: { decaySeconds: 0.5, preDelaySeconds: 0.005, size: 0.4, dampHz: 7000 },
        hall: { decaySeconds: 2, preDelaySeconds: 0.03, size: 0.9, dampHz: 5500 },
        echoSeconds: 0.4,
        bus: [
          { kind: 'lowshelf', hz: 130, db: 4 },
          { kind: 'bell', hz: 650, db: -4, q: 0.6 },
          { kind: 'highshelf', hz: 1800, db: -4, q: 0.5 },
          { kind: 'highshelf', hz: 9000, db: -2 },
        ],
        fadeSeconds: 2.2,
        peakDbfs: -6,
      },
    );
  },
};
