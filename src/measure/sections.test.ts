import { describe, expect, test } from 'vitest';
import { seeded } from '../../test/seeded-sound.ts';
import { instantiateKernels } from '../signal/kernels.ts';
import { LoudnessMeter } from './loudness.ts';
import { PitchOverTime } from './pitch-over-time.ts';
import { findForm, type SectionsResult, sectionsOf } from './sections.ts';
import { SoundFeed } from './sound-feed.ts';
import { ToneMeter, toneFrameLength } from './tone.ts';
import { ToneOverTime } from './tone-over-time.ts';

const rate = 12_000;

function sectionsIn(samples: Float32Array, sampleRate = rate): SectionsResult {
  const kernels = instantiateKernels();
  const feed = new SoundFeed(kernels, { sampleRate, channels: 1 });
  const size = toneFrameLength(sampleRate);
  const bands = new ToneOverTime(sampleRate, size);
  const pitch = new PitchOverTime(sampleRate, size);
  const tone = new ToneMeter(kernels, feed, sampleRate, [bands, pitch]);
  const loudness = new LoudnessMeter(kernels, feed, sampleRate);
  const take = (frames: number) => {
    tone.take(frames);
    loudness.take(frames);
  };
  feed.push({ sampleRate, channels: [samples] }, take);
  feed.finish(take);
  tone.finish();
  const form = findForm(bands.finish(), pitch.finish());
  return sectionsOf(form, loudness.finish().trace, samples.length / sampleRate);
}

type Random = () => number;

/** How a kind of section is played: levels of the parts and roots of its chords. */
interface Kind {
  readonly pad: number;
  readonly bass: number;
  readonly hat: number;
  readonly snare: number;
  readonly lead: number;
  readonly roots: readonly number[];
}

function note(
  into: Float32Array,
  at: number,
  length: number,
  pitch: number,
  level: number,
  partials: number,
) {
  const step = (2 * Math.PI * 440 * 2 ** ((pitch - 69) / 12)) / rate;
  const top = Math.min(partials, Math.floor(Math.PI / step));
  for (let k = 1; k <= top; k++) {
    // A rotating phasor is cheaper than a sine a sample.
    const [turnRe, turnIm] = [Math.cos(k * step), Math.sin(k * step)];
    let [re, im] = [level / k, 0];
    const decay = 0.99995 ** k;
    for (let i = at; i < Math.min(into.length, at + length); i++) {
      into[i] += im;
      [re, im] = [(re * turnRe - im * turnIm) * decay, (re * turnIm + im * turnRe) * decay];
    }
  }
}

function hit(into: Float32Array, at: number, level: number, seconds: number, random: Random) {
  const length = Math.floor(seconds * rate);
  for (let i = 0; i < length && at + i < into.length; i++)
    into[at + i] += level * (2 * random() - 1) * (1 - i / length) ** 2;
}

/** Plays sections of four bars of the kinds given; returns the sound and where each section begins. */
function song(kinds: readonly Kind[], bpm: number, random: Random) {
  const beat = (60 / bpm) * rate;
  const bar = 4 * beat;
  const samples = new Float32Array(Math.ceil(kinds.length * 4 * bar + rate));
  const touch = () => 0.85 + 0.3 * random();
  const starts = kinds.map((kind, s) => {
    for (let b = 0; b < 4; b++) {
      const at = Math.round((4 * s + b) * bar);
      const root = kind.roots[b];
      for (const interval of [0, 4, 7])
        note(samples, at, Math.round(bar), root + interval, kind.pad * touch(), 5);
      for (let q = 0; q < 4; q++) {
        const when = Math.round(at + q * beat);
        if (kind.bass > 0) note(samples, when, Math.round(beat), root - 24, kind.bass * touch(), 4);
        if (kind.hat > 0) {
          hit(samples, when, kind.hat * touch(), 0.06, random);
          hit(samples, Math.round(when + beat / 2), kind.hat * touch(), 0.04, random);
        }
        if (kind.snare > 0 && q % 2 === 1) hit(samples, when, kind.snare * touch(), 0.15, random);
        if (kind.lead > 0)
          note(samples, when, Math.round(beat), root + 12 + [0, 4, 7, 11][q], kind.lead * touch(), 8);
      }
    }
    return (4 * s * bar) / rate;
  });
  return { samples, starts };
}

/** Three kinds that differ as an intro, a verse and a chorus do: what plays, how loud, which chords. */
function kindsOf(random: Random): readonly Kind[] {
  const roots = () => Array.from({ length: 4 }, () => 45 + Math.floor(9 * random()));
  const near = (level: number) => level * (0.8 + 0.4 * random());
  return [
    { pad: near(0.05), bass: 0, hat: 0, snare: 0, lead: 0, roots: roots() },
    { pad: near(0.04), bass: near(0.12), hat: near(0.05), snare: 0, lead: 0, roots: roots() },
    {
      pad: near(0.07),
      bass: near(0.14),
      hat: near(0.12),
      snare: near(0.25),
      lead: near(0.05),
      roots: roots(),
    },
  ];
}

const within = 1.5;

describe('sections', () => {
  test('60 seeded songs: finds where they change and what repeats', () => {
    let [boundaries, hits, extra, repeats, repeatsFound, wrongRepeats] = [0, 0, 0, 0, 0, 0];
    for (let seed = 1; seed <= 60; seed++) {
      const random = seeded(seed);
      const kinds = kindsOf(random);
      const order = [
        [0, 1, 2, 1, 2],
        [1, 2, 0, 2],
        [0, 1, 2, 0, 2],
      ][seed % 3];
      const { samples, starts } = song(
        order.map((k) => kinds[k]),
        95 + 45 * random(),
        random,
      );
      const { sections } = sectionsIn(samples);
      const found = sections.slice(1).map((section) => section.startSeconds);
      const isNear = (a: number) => (b: number) => Math.abs(a - b) <= within;
      for (const start of starts.slice(1)) {
        boundaries++;
        if (found.some(isNear(start))) hits++;
      }
      extra += found.filter((time) => !starts.some(isNear(time))).length;
      // Labels, where a section begins as one of the song does.
      const labelled = order.map((k, i) => ({
        k,
        label: sections.find((section) => isNear(starts[i])(section.startSeconds))?.label,
      }));
      for (let i = 0; i < labelled.length; i++)
        for (let j = 0; j < i; j++) {
          if (!labelled[i].label || !labelled[j].label) continue;
          const same = labelled[i].label === labelled[j].label;
          if (labelled[i].k !== labelled[j].k) wrongRepeats += Number(same);
          else {
            repeats++;
            repeatsFound += Number(same);
          }
        }
    }
    // Of 220 changes: at most 3 missed, at most 12 found where none is (chords that change the bass mid-section).
    expect(boundaries).toBe(220);
    expect(boundaries - hits).toBeLessThanOrEqual(3);
    expect(extra).toBeLessThanOrEqual(12);
    expect(repeatsFound / repeats).toBeGreaterThan(0.95);
    expect(wrongRepeats).toBe(0);
  });

  test('60 seeded songs of one arrangement are one section each', () => {
    let cut = 0;
    for (let seed = 1; seed <= 60; seed++) {
      const random = seeded(1000 + seed);
      const kind = kindsOf(random)[seed % 3];
      const { samples } = song([kind, kind, kind], 95 + 45 * random(), random);
      cut += Number(sectionsIn(samples).sections.length > 1);
    }
    expect(cut).toBe(0);
  });

  test('sections join without gaps from start to end, and know the loudest and the quietest', () => {
    const random = seeded(7);
    const [quiet, middle, loud] = kindsOf(random);
    const { samples, starts } = song([middle, quiet, loud, middle], 110, random);
    const { sections, loudest, quietest } = sectionsIn(samples);
    expect(sections[0].startSeconds).toBe(0);
    expect(sections.at(-1)!.endSeconds).toBe(samples.length / rate);
    sections.slice(1).forEach((section, i) => {
      expect(section.startSeconds).toBe(sections[i].endSeconds);
    });
    expect(Math.abs(sections[loudest!].startSeconds - starts[2])).toBeLessThan(within);
    expect(Math.abs(sections[quietest!].startSeconds - starts[1])).toBeLessThan(within);
    // Loudness of a section is that of its sound alone.
    const { startSeconds, endSeconds, loudnessLufs } = sections[loudest!];
    const alone = sectionsIn(
      samples.slice(Math.round(startSeconds * rate), Math.round(endSeconds * rate)),
    ).sections;
    expect(alone).toHaveLength(1);
    expect(Math.abs(alone[0].loudnessLufs! - loudnessLufs!)).toBeLessThan(0.1);
  });

  test('gain changes levels, not sections', () => {
    const random = seeded(9);
    const kinds = kindsOf(random);
    const { samples } = song([kinds[0], kinds[1], kinds[2], kinds[1]], 120, random);
    const spans = (result: SectionsResult) =>
      result.sections.map(({ startSeconds, label }) => [Math.round(startSeconds * 1000), label]);
    const before = sectionsIn(samples);
    const after = sectionsIn(samples.map((x) => x * 0.1));
    expect(spans(after)).toEqual(spans(before));
    expect(after.sections[0].loudnessLufs! - before.sections[0].loudnessLufs!).toBeCloseTo(-20, 1);
  });

  test('silence, noise, a tone and a second of sound are one section; nothing is none', () => {
    const random = seeded(3);
    const noise = Float32Array.from({ length: 60 * rate }, () => 0.2 * (2 * random() - 1));
    const tone = Float32Array.from({ length: 30 * rate }, (_, n) => 0.5 * Math.sin(0.3 * n));
    for (const samples of [noise, tone, noise.slice(0, rate), noise.slice(0, 1), new Float32Array(20 * rate)])
      expect(sectionsIn(samples).sections).toHaveLength(1);
    expect(sectionsIn(new Float32Array(20 * rate))).toEqual({
      sections: [{ startSeconds: 0, endSeconds: 20, label: 'A', loudnessLufs: null }],
      loudest: null,
      quietest: null,
    });
    expect(sectionsIn(new Float32Array(0))).toEqual({ sections: [], loudest: null, quietest: null });
  });
});
