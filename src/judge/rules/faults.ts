import type { Facts } from '../facts.ts';
import type { Rule } from '../rule.ts';
import { clockTime, count, figure, list, sentenceCase, signed, size, withUnit } from '../wording.ts';
import { isLossyFile } from './coding.ts';

const faultsOf = ({ measurement }: Facts) => measurement.faults;
const yes = (is: boolean) => (is ? 1 : 0);

function channelName(channel: number, channels: number): string {
  if (channels === 1) return 'the only channel';
  return channels === 2 ? ['the left channel', 'the right channel'][channel] : `channel ${channel + 1}`;
}

/** 'both channels', or which one. */
function channelsOf(events: readonly { readonly channel: number }[], channels: number): string {
  const met = [...new Set(events.map(({ channel }) => channel))].sort((a, b) => a - b);
  if (met.length === channels && channels > 1) return channels === 2 ? 'both channels' : 'all channels';
  return list(met.map((channel) => channelName(channel, channels)));
}

const kilohertz = (hz: number, digits = 1) => withUnit(hz / 1000, 'kHz', digits);
const rateText = (hz: number) => `${Number((hz / 1000).toFixed(3))} kHz`;

/** Silence at the head of a file that is worth a sentence, and at its tail, seconds (heuristic, 'silent-ends'). */
const longHeadSeconds = 3;
const longTailSeconds = 10;

export const faultRules: readonly Rule[] = [
  {
    id: 'dropouts',
    unit: '',
    read: (facts) => faultsOf(facts).dropouts.count,
    wrong: 'above',
    bounds: [{ severity: 'mend', limit: 0, source: 'broken-sound' }],
    step: 3,
    say: (value, facts) => {
      const { dropouts } = faultsOf(facts).dropouts;
      return {
        title: 'The sound drops out',
        detail: `${sentenceCase(count(value, 'time'))} the sound breaks off into zeros and comes back, first at ${clockTime(dropouts[0]?.startSeconds ?? 0)} in ${channelsOf(dropouts, facts.file.channels)}.`,
        advice:
          'Bounce again, offline or with a larger buffer. If a stutter like this is meant, leave it: it is only told apart by ear.',
      };
    },
    spans: (facts) => faultsOf(facts).dropouts.dropouts,
  },
  {
    id: 'clicks',
    unit: '',
    read: (facts) => faultsOf(facts).clicks.count,
    wrong: 'above',
    bounds: [{ severity: 'look', limit: 0, source: 'broken-sound' }],
    step: 5,
    say: (value, facts) => {
      const { clicks } = faultsOf(facts).clicks;
      return {
        title: value === 1 ? 'A click' : 'Clicks',
        detail: `${sentenceCase(count(value, 'time'))} the waveform jumps for a few samples, unlike what stands around it; first at ${clockTime(clicks[0]?.startSeconds ?? 0)} in ${channelsOf(clicks, facts.file.channels)}.`,
        advice:
          'Listen to these places on headphones. Edits without a crossfade, and bounces in which the computer did not keep up, make such clicks.',
      };
    },
    spans: (facts) => faultsOf(facts).clicks.clicks,
  },
  {
    id: 'dc-offset',
    unit: 'dBFS',
    read: (facts) => faultsOf(facts).dc.worstDbfs,
    wrong: 'above',
    bounds: [
      { severity: 'mend', limit: -40, source: 'dc-offset' },
      { severity: 'look', limit: -60, source: 'dc-offset' },
    ],
    step: 10,
    say: (value) => ({
      title: 'The waveform is off centre',
      detail: `On average the samples lie at ${withUnit(value, 'dBFS')} instead of zero (DC offset). It takes room from the peaks and can click where the song starts, stops or is cut.`,
      advice: 'Put a high-pass filter at 5 to 20 Hz first in the chain, or use the editor’s “remove DC”.',
    }),
  },
  {
    id: 'hum',
    unit: 'dBFS',
    read: (facts) => faultsOf(facts).hum.levelDbfs,
    wrong: 'above',
    bounds: [
      { severity: 'mend', limit: -50, source: 'steady-noise' },
      { severity: 'look', limit: -80, source: 'steady-noise' },
    ],
    step: 10,
    say: (value, facts) => {
      const { mainsHz, lines } = faultsOf(facts).hum;
      return {
        title: 'Mains hum',
        detail: `In the quiet passages a steady tone stands at ${list(lines.map(({ hz }) => figure(hz, 0)))} Hz, as ${figure(mainsHz ?? 50, 0)} Hz mains make it, at ${withUnit(value, 'dBFS')}.`,
        advice:
          'Find the track it comes from (guitar amplifier, microphone lead, a loop in the earth) and clean that one with narrow cuts; on the whole song they would thin the bass.',
      };
    },
    spans: ({ measurement }) =>
      measurement.faults.noise.quietest ? [measurement.faults.noise.quietest] : [],
  },
  {
    id: 'noise-floor',
    unit: 'dBFS',
    // What noise does to a mix depends on how far it will be raised: that is told by the rules for mixes.
    read: (facts) => (facts.kind === 'mix' ? null : faultsOf(facts).noise.floorDbfs),
    wrong: 'above',
    bounds: [{ severity: 'look', limit: -60, source: 'steady-noise' }],
    step: 6,
    say: (value, facts) => ({
      title: 'Audible noise',
      detail: `Where the music pauses, at ${clockTime(faultsOf(facts).noise.quietest?.startSeconds ?? 0)}, steady noise is left at ${withUnit(value, 'dBFS')}.`,
      advice:
        'Mute or gate the tracks that hiss while they do not play, and fade the ends; reduce noise in single tracks rather than in the whole.',
    }),
    spans: ({ measurement }) =>
      measurement.faults.noise.quietest ? [measurement.faults.noise.quietest] : [],
  },
  {
    id: 'subsonic',
    unit: 'dB',
    read: (facts) => faultsOf(facts).subsonic.shareDb,
    wrong: 'above',
    bounds: [
      { severity: 'mend', limit: -8, source: 'subsonic' },
      { severity: 'look', limit: -18, source: 'subsonic' },
    ],
    step: 5,
    say: (value) => ({
      title: 'Rumble below hearing',
      detail: `Below 20 Hz the song holds ${size(value, 'dB')} less power than in all, ${figure(100 * 10 ** (value / 10), value > -10 ? 0 : 1)} % of it. No one hears that, but loudspeakers move and limiters work for it.`,
      advice: 'Put a high-pass filter at about 20 Hz before the limiter.',
    }),
  },
  {
    id: 'start-cut',
    unit: 'dBFS',
    read: (facts) => faultsOf(facts).ends.headDbfs,
    wrong: 'above',
    bounds: [{ severity: 'look', limit: -30, source: 'cut-ends' }],
    step: 12,
    say: (value) => ({
      title: 'The start is cut into',
      detail: `The very first sample already stands at ${signed(value, 'dBFS')}: the file begins in the middle of a sound, which clicks.`,
      advice: 'Start the bounce a little earlier, or fade in over 5 to 10 ms.',
    }),
    spans: () => [{ startSeconds: 0, endSeconds: 0.5 }],
  },
  {
    id: 'end-cut',
    unit: 'dBFS',
    read: (facts) => faultsOf(facts).ends.tailDbfs,
    wrong: 'above',
    bounds: [{ severity: 'look', limit: -40, source: 'cut-ends' }],
    step: 12,
    say: (value) => ({
      title: 'The end is cut off',
      detail: `In its last milliseconds the sound still stands at ${signed(value, 'dBFS')} instead of having died away.`,
      advice:
        'Bounce further, until the last echo is gone, or fade out. Only a song that runs into the next one should end like this.',
    }),
    spans: ({ measurement: { seconds, faults } }) => {
      const end = seconds - faults.ends.tailZeroSeconds;
      return [{ startSeconds: Math.max(0, end - 1), endSeconds: end }];
    },
  },
  {
    id: 'silence-inside',
    unit: '',
    read: (facts) => faultsOf(facts).ends.gapCount,
    wrong: 'above',
    bounds: [{ severity: 'look', limit: 0, source: 'broken-sound' }],
    step: 2,
    say: (value, facts) => {
      const { gaps } = faultsOf(facts).ends;
      const longest = Math.max(0, ...gaps.map(({ startSeconds, endSeconds }) => endSeconds - startSeconds));
      return {
        title: 'Dead silence inside the song',
        detail: `${sentenceCase(count(value, 'time'))} everything is digital silence for half a second or more, ${withUnit(longest, 's')} at the longest, first at ${clockTime(gaps[0]?.startSeconds ?? 0)}.`,
        advice: 'If the band does not stop there, look for a muted region or a gap between clips.',
      };
    },
    spans: (facts) => faultsOf(facts).ends.gaps,
  },
  {
    id: 'long-lead-in',
    unit: 's',
    read: (facts) => faultsOf(facts).ends.headQuietSeconds,
    wrong: 'above',
    bounds: [{ severity: 'look', limit: longHeadSeconds, source: 'silent-ends' }],
    step: 3,
    say: (value) => ({
      title: 'A long wait at the start',
      detail: `Nothing louder than −60 dBFS comes for ${withUnit(value, 's')}.`,
      advice:
        'Trim the start to a fraction of a second; pauses between songs are set when the record is put together.',
    }),
    spans: (facts) => [{ startSeconds: 0, endSeconds: faultsOf(facts).ends.headQuietSeconds ?? 0 }],
  },
  {
    id: 'long-lead-out',
    unit: 's',
    read: (facts) => faultsOf(facts).ends.tailQuietSeconds,
    wrong: 'above',
    bounds: [{ severity: 'look', limit: longTailSeconds, source: 'silent-ends' }],
    step: 10,
    say: (value) => ({
      title: 'A long rest at the end',
      detail: `For the last ${withUnit(value, 's')} nothing is louder than −60 dBFS.`,
      advice: 'Trim the end after the last echo.',
    }),
    spans: ({ measurement: { seconds, faults } }) => [
      { startSeconds: seconds - (faults.ends.tailQuietSeconds ?? 0), endSeconds: seconds },
    ],
  },
  {
    id: 'empty-bits',
    unit: 'bit',
    // A file that says itself that it is coarse has its own rule.
    read: (facts) => {
      const { bits } = faultsOf(facts).grid;
      const { bitDepth } = facts.file;
      return bits !== null && bitDepth !== null && bitDepth - bits >= 4 ? bits : null;
    },
    wrong: 'below',
    bounds: [
      { severity: 'mend', limit: 9, source: 'bit-depth' },
      { severity: 'look', limit: 17, source: 'sample-content' },
    ],
    step: 4,
    say: (value, { file, kind }) => ({
      title: 'Fewer bits than the file has room for',
      detail: `The file stores ${figure(file.bitDepth ?? 0, 0)} bits a sample, but only the upper ${figure(value, 0)} are ever used: somewhere before, the sound was a ${figure(value, 0)}-bit file.`,
      advice:
        kind === 'mix'
          ? 'Bounce again from the session at 24 bits or floating point.'
          : 'Go back to the file before that step and finish from there; what was rounded away does not come back.',
    }),
  },
  {
    id: 'no-dither',
    unit: '',
    read: (facts) => {
      const { undithered } = faultsOf(facts).grid;
      return undithered === null || isLossyFile(facts.file) ? null : yes(undithered);
    },
    wrong: 'above',
    bounds: [{ severity: 'look', limit: 0, source: 'sample-content' }],
    step: 1,
    say: (_value, facts) => ({
      title: 'Rounded without dither',
      detail: `In the quietest passages ${figure(100 * (faultsOf(facts).grid.repeatShare ?? 0), 0)} % of the samples repeat the one before (with dither it would be about 59 %): the way down to ${figure(faultsOf(facts).grid.bits ?? 16, 0)} bits was a plain rounding, which makes fades and echoes grainy.`,
      advice: 'Make the 16-bit file again from the 24-bit one, with dither as the last step.',
    }),
  },
  {
    id: 'upsampled',
    unit: '',
    read: (facts) => yes(faultsOf(facts).bandwidth.tells === 'upsampled'),
    wrong: 'above',
    bounds: [{ severity: 'look', limit: 0, source: 'sample-content' }],
    step: 1,
    say: (_value, facts) => {
      const { edgeHz, dropDb, sourceRateHz } = faultsOf(facts).bandwidth;
      return {
        title: 'A higher sample rate than the sound',
        detail: `The file is at ${rateText(facts.file.sampleRate)}, but at ${kilohertz(edgeHz ?? 0)} the sound falls by ${size(dropDb ?? 0, 'dB', 0)} and nothing comes after: it looks like ${rateText(sourceRateHz ?? 0)} made larger.`,
        advice:
          facts.kind === 'mix'
            ? 'Bounce again at the rate of the session, so that nothing is converted twice.'
            : `Unless ${rateText(facts.file.sampleRate)} is asked for, deliver at the rate the sound was made at.`,
      };
    },
  },
  {
    id: 'lossy-shelf',
    unit: 'kHz',
    // A file that is lossy itself has its own rule.
    read: (facts) => {
      const { edgeHz, tells } = faultsOf(facts).bandwidth;
      if (isLossyFile(facts.file)) return null;
      return tells === 'lossy' && edgeHz !== null ? edgeHz / 1000 : null;
    },
    wrong: 'below',
    bounds: [{ severity: 'look', limit: 19.8, source: 'sample-content' }],
    step: 2,
    say: (value, facts) => ({
      title: 'Sounds like a decoded lossy file',
      detail: `At ${withUnit(value, 'kHz')} the sound falls by ${size(faultsOf(facts).bandwidth.dropDb ?? 0, 'dB', 0)} within about 1 kHz and nothing comes after, as MP3 and AAC leave it.`,
      advice:
        facts.kind === 'mix'
          ? 'If a stem, a sample or the mix itself was a lossy file once, bounce again from the original.'
          : 'Make sure that this master was made from the uncoded mix. A steep low-pass filter, or a source at 32 kHz, can look the same.',
    }),
  },
];
