import type { StereoBand, StereoResult } from '../../measure/stereo-result.ts';
import type { WideBandName } from '../../measure/wide-bands.ts';
import type { Facts } from '../facts.ts';
import type { Rule } from '../rule.ts';
import { clockTime, count, figure, list, size, withUnit } from '../wording.ts';

/** Bands as a musician calls them. */
const bandWords: Readonly<Record<WideBandName, string>> = {
  low: 'the bass',
  lowMid: 'the low middle',
  mid: 'the middle',
  presence: 'the presence',
  air: 'the treble',
};

/** What a rule about two sounding channels may read; null for mono, silence and a channel without sound. */
function pairOf({ measurement }: Facts): StereoResult | null {
  const { stereo } = measurement;
  return stereo === null || stereo.silentChannels.some((channel) => channel < 2) ? null : stereo;
}

/** Seconds in which one side is upside down. */
function invertedSeconds(facts: Facts): number | null {
  const stereo = pairOf(facts);
  return (
    stereo?.invertedSpans.reduce((sum, { startSeconds, endSeconds }) => sum + endSeconds - startSeconds, 0) ??
    null
  );
}

const isInverted = (facts: Facts) => (invertedSeconds(facts) ?? 0) > 0;

/** Half the loss of unrelated channels and more is told of a band; bands 30 dB under the whole say nothing (heuristic). */
/** Level that the bass may lose in mono, dB. */
export const bassLossDb = 2;
const bandLossDb = { low: bassLossDb, others: 4 };

function lossOf(facts: Facts): number | null {
  return pairOf(facts)?.foldLossDb ?? null;
}

/** Above the bass, the band that loses most in mono; null where the song as a whole already does. */
function worstBand(facts: Facts): StereoBand | null {
  if (isInverted(facts) || (lossOf(facts) ?? 0) > monoLossDb) return null;
  return (pairOf(facts)?.bands ?? [])
    .filter(({ name, foldLossDb }) => name !== 'low' && foldLossDb !== null)
    .reduce<StereoBand | null>(
      (worst, band) => ((band.foldLossDb ?? 0) > (worst?.foldLossDb ?? -1) ? band : worst),
      null,
    );
}

/** What channels with nothing in common lose when they are added, dB: 10 lg 2. */
const monoLossDb = 3.01;
const sideName = (delay: number) => (delay > 0 ? 'right' : 'left');

export const stereoRules: readonly Rule[] = [
  {
    id: 'polarity-flip',
    unit: 's',
    read: invertedSeconds,
    wrong: 'above',
    bounds: [{ severity: 'mend', limit: 0, source: 'stereo-heuristic' }],
    step: 10,
    say: (value, facts) => {
      const stereo = pairOf(facts);
      const first = stereo?.invertedSpans[0]?.startSeconds ?? 0;
      const whole = (stereo?.invertedShare ?? 0) > 0.9;
      return {
        title: 'One side is upside down',
        detail: whole
          ? 'All through the song one channel pushes while the other pulls: voice, bass and drums are opposite on the two sides. On loudspeakers the bass goes thin, in mono most of the song vanishes.'
          : `For ${withUnit(value, 's')}, first at ${clockTime(first)}, one channel pushes while the other pulls; in mono most of that passage vanishes.`,
        advice: whole
          ? 'Flip the polarity of one channel (the Ø button, or a wrongly wired cable) and bounce again.'
          : 'Look there for an effect or a clip with its polarity flipped, and flip it back on one side.',
      };
    },
    spans: (facts) => pairOf(facts)?.invertedSpans ?? [],
  },
  {
    id: 'silent-channel',
    unit: '',
    read: ({ file, measurement }) =>
      file.channels === 2 ? (measurement.stereo?.silentChannels.length ?? null) : null,
    wrong: 'above',
    bounds: [{ severity: 'mend', limit: 0, source: 'sides-sound' }],
    step: 1,
    say: (_value, { measurement }) => ({
      title: 'One side is silent',
      detail: `The ${measurement.stereo?.silentChannels[0] === 0 ? 'left' : 'right'} channel holds no sound at all.`,
      advice: 'A muted output, a pan left hard over or a cable is the usual cause; bounce again.',
    }),
  },
  {
    id: 'idle-channels',
    unit: '',
    read: ({ file, measurement }) =>
      file.channels > 2 ? (measurement.stereo?.silentChannels.length ?? null) : null,
    wrong: 'above',
    bounds: [{ severity: 'look', limit: 0, source: 'sides-sound' }],
    step: 1,
    say: (value, { file, measurement }) => ({
      title: value === 1 ? 'A channel without sound' : 'Channels without sound',
      detail: `Of ${file.channels} channels, ${count(value, 'channel')} (${list((measurement.stereo?.silentChannels ?? []).map((channel) => String(channel + 1)))}) ${value === 1 ? 'holds' : 'hold'} no sound.`,
      advice: 'An unused bass channel may be meant; anything else is a routing mistake.',
    }),
  },
  {
    id: 'dual-mono',
    unit: '',
    read: (facts) => (pairOf(facts) === null ? null : pairOf(facts)?.identical ? 1 : 0),
    wrong: 'above',
    bounds: [{ severity: 'look', limit: 0, source: 'sides-sound' }],
    step: 1,
    say: () => ({
      title: 'Both sides are the same',
      detail: 'Left and right hold one and the same sound: the song is mono in a stereo file.',
      advice: 'If it was mixed in stereo, a mono switch was left on; bounce again.',
    }),
  },
  {
    id: 'channel-delay',
    unit: 'samples',
    read: (facts) => {
      const delay = pairOf(facts)?.delaySamples ?? null;
      return delay === null ? null : Math.abs(delay);
    },
    wrong: 'above',
    bounds: [{ severity: 'look', limit: 1.5, source: 'stereo-heuristic' }],
    step: 10,
    say: (value, facts) => {
      const milliseconds = (1000 * value) / facts.file.sampleRate;
      return {
        title: 'One side comes late',
        detail: `All through the song the ${sideName(pairOf(facts)?.delaySamples ?? 0)} channel lies ${size(value, 'samples')} (${withUnit(milliseconds, 'ms', 2)}) behind the other. In mono this cuts notches into the sound, the first at ${figure(facts.file.sampleRate / (2 * value), 0)} Hz.`,
        advice: `Move the ${sideName(pairOf(facts)?.delaySamples ?? 0)} channel earlier by that much, or find the plug-in that delays one side only. A stereo effect on a single source may be meant so: listen in mono.`,
      };
    },
  },
  {
    id: 'mono-loss',
    unit: 'dB',
    read: lossOf,
    wrong: 'above',
    bounds: [
      { severity: 'mend', limit: 6, source: 'mono-fold' },
      { severity: 'look', limit: monoLossDb, slack: 0.2, source: 'mono-fold' },
    ],
    step: 2,
    followsFrom: isInverted,
    say: (value) => ({
      title: 'Much is lost in mono',
      detail: `Played on one loudspeaker, as phones, kitchens and clubs do, the song loses ${size(value, 'dB')}: left and right partly cancel each other.`,
      advice:
        'Listen in mono and mute the wide parts one by one; stereo wideners and doubled takes with flipped polarity are the usual cause.',
    }),
    fine: (value, facts) =>
      isInverted(facts)
        ? null
        : {
            title: 'Holds up in mono',
            detail: `Played on one loudspeaker the song loses ${size(value, 'dB')}; sides with nothing in common would lose 3.`,
          },
  },
  {
    id: 'wide-bass',
    unit: 'dB',
    read: (facts) => {
      if (isInverted(facts) || (lossOf(facts) ?? 0) > monoLossDb) return null;
      if ((facts.measurement.tone.lowDb ?? -100) < -20) return null;
      return pairOf(facts)?.bands.find(({ name }) => name === 'low')?.foldLossDb ?? null;
    },
    wrong: 'above',
    bounds: [{ severity: 'look', limit: bandLossDb.low, source: 'stereo-heuristic' }],
    step: 2,
    say: (value) => ({
      title: 'The bass is wide',
      detail: `Below 120 Hz left and right differ so much that the bass loses ${size(value, 'dB')} in mono; in clubs and on small loudspeakers the low end is mono.`,
      advice: 'Put bass and bass drum in the middle, or make everything below about 120 Hz mono.',
    }),
  },
  {
    id: 'band-mono-loss',
    unit: 'dB',
    read: (facts) => worstBand(facts)?.foldLossDb ?? null,
    wrong: 'above',
    bounds: [{ severity: 'look', limit: bandLossDb.others, source: 'stereo-heuristic' }],
    step: 2,
    say: (value, facts) => {
      const band = worstBand(facts);
      return {
        title: 'A part of the sound fades in mono',
        detail: `In mono ${bandWords[band?.name ?? 'mid']} (${figure(band?.lowHz ?? 0, 0)} to ${figure(band?.highHz ?? 0, 0)} Hz) loses ${size(value, 'dB')}, more than sides with nothing in common would.`,
        advice: 'Listen in mono for what goes missing there, and narrow that part.',
      };
    },
  },
  {
    id: 'lopsided',
    unit: 'dB',
    read: (facts) => {
      const balance = pairOf(facts)?.balanceDb ?? null;
      return balance === null ? null : Math.abs(balance);
    },
    wrong: 'above',
    bounds: [{ severity: 'look', limit: 3, source: 'stereo-heuristic' }],
    step: 2,
    say: (value, facts) => ({
      title: `Leans to the ${(pairOf(facts)?.balanceDb ?? 0) > 0 ? 'right' : 'left'}`,
      detail: `Over the whole song the ${(pairOf(facts)?.balanceDb ?? 0) > 0 ? 'right' : 'left'} side is ${size(value, 'dB')} louder than the other.`,
      advice: 'If it is not meant, move a part over or raise the softer side.',
    }),
  },
];
