import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { faultless, fit } from '../../test/faultless.ts';
import { goodDynamics, goodLowEnd, goodStereo } from '../../test/good-sound.ts';
import type { Measurement } from '../measure/measurement.ts';
import type { StereoResult } from '../measure/stereo-result.ts';
import type { RoundTrip } from '../survive/round-trip-result.ts';
import type { Facts } from './facts.ts';
import { findingSchema } from './file-report.ts';
import { judge } from './judge.ts';
import { type ProfileId, profileOf } from './profiles.ts';

/** A song with nothing wrong in it. */
const goodMeasurement: Measurement = {
  sampleRate: 48000,
  channels: 2,
  frames: 48000 * 90,
  seconds: 90,
  loudness: { integratedLufs: -13, rangeLu: 6, maxMomentaryLufs: -9, maxShortTermLufs: -10.5, reason: null },
  peak: {
    samplePeakDbfs: -1.3,
    truePeakDbtp: -1.05,
    plrDb: 11.95,
    crestDb: 14,
    overCount: 0,
    overs: [],
    clippedRunCount: 0,
    clippedRuns: [],
  },
  tone: { centresHz: [], levelsDb: [], tiltDbPerOctave: -4.5, lowDb: -3, midDb: -3.5, highDb: -14 },
  stereo: goodStereo,
  dynamics: goodDynamics,
  lowEnd: goodLowEnd,
  sections: { sections: [], loudest: null, quietest: null },
  faults: faultless,
  fitness: fit,
  traces: {
    waveform: { stepSeconds: 1, min: [], max: [] },
    loudness: { stepSeconds: 0.1, momentaryLufs: [], shortTermLufs: [], stepPowers: [] },
    tone: { stepSeconds: 0.5, firstSeconds: 0.25, centresHz: [], levelsDb: [] },
    dynamics: { stepSeconds: 0.1, psrDb: [] },
    stereo: null,
  },
};

const roundTrip = (format: string, truePeakDbtp: number | null, overs = 0): RoundTrip => ({
  format,
  encoder: 'an encoder 1.0',
  settings: '',
  nominalKbps: 128,
  actualKbps: 128.3,
  delaySamples: 0,
  truePeakDbtp,
  growthDb: 0.5,
  overs,
  overSpans: [],
});

interface Changes {
  kind?: Facts['kind'];
  file?: Partial<Facts['file']>;
  measurement?: Partial<Measurement>;
  loudness?: Partial<Measurement['loudness']>;
  peak?: Partial<Measurement['peak']>;
  tone?: Partial<Measurement['tone']>;
  stereo?: Partial<StereoResult>;
  dynamics?: Partial<Measurement['dynamics']>;
  lossy?: RoundTrip[];
  lossyFailed?: Facts['lossyFailed'];
}

function facts(changes: Changes = {}): Facts {
  const m = goodMeasurement;
  return {
    file: {
      name: 'song.wav',
      container: 'WAV',
      codec: 'PCM',
      sampleRate: 48000,
      channels: 2,
      bitDepth: 24,
      frames: m.frames,
      seconds: m.seconds,
      sha256: '',
      tags: {},
      warnings: [],
      ...changes.file,
    },
    kind: changes.kind ?? 'master',
    measurement: {
      ...m,
      ...changes.measurement,
      loudness: { ...m.loudness, ...changes.loudness },
      peak: { ...m.peak, ...changes.peak },
      tone: { ...m.tone, ...changes.tone },
      dynamics: { ...m.dynamics, ...changes.dynamics },
      ...(changes.stereo ? { stereo: { ...goodStereo, ...changes.stereo } } : {}),
    },
    lossy: changes.lossy ?? [roundTrip('AAC 128', -0.4), roundTrip('MP3 320', -0.9)],
    lossyFailed: changes.lossyFailed ?? [],
  };
}

/** The bands of a good song, one of which loses more in mono. */
const bandsWith = (index: number, foldLossDb: number) =>
  goodStereo.bands.map((band, i) => (i === index ? { ...band, foldLossDb } : band));

const ids = (f: Facts, severity: string) =>
  judge(f)
    .findings.filter((finding) => finding.severity === severity)
    .map((finding) => finding.id);

test('a good song has nothing to mend and nothing to look at, and is told what is good', () => {
  const { headline, findings } = judge(facts());
  expect(headline).toBe('Nothing to mend and nothing to look at: this can leave the bench.');
  expect(findings.every((f) => f.severity === 'fine')).toBe(true);
  expect(findings.length).toBeGreaterThanOrEqual(3);
  expect(findings.length).toBeLessThanOrEqual(6);
});

describe('each fault fires its own rule and no other', () => {
  test.each<[string, Changes, 'mend' | 'look']>([
    ['intersample-overs', { peak: { truePeakDbtp: 0.5, overCount: 3 } }, 'mend'],
    ['true-peak-room', { peak: { truePeakDbtp: -0.5 } }, 'look'],
    ['true-peak-room', { peak: { truePeakDbtp: 0.05 } }, 'look'],
    ['clipped-runs', { peak: { clippedRunCount: 2 } }, 'look'],
    ['clipped-runs', { peak: { clippedRunCount: 21 } }, 'mend'],
    ['lossy-overs', { lossy: [roundTrip('AAC 128', 0.1, 1)] }, 'look'],
    ['lossy-overs', { lossy: [roundTrip('AAC 128', 0.9, 7), roundTrip('MP3 128', 0.3, 2)] }, 'mend'],
    ['over-limited', { peak: { plrDb: 8 } }, 'look'],
    ['over-limited', { peak: { plrDb: 5 } }, 'mend'],
    ['too-bassy', { tone: { lowDb: -0.2, midDb: -13 } }, 'mend'],
    ['too-thin', { tone: { lowDb: -15, midDb: -0.5 } }, 'look'],
    ['too-thin', { tone: { lowDb: -25, midDb: -0.5 } }, 'mend'],
    ['too-dull', { tone: { tiltDbPerOctave: -11 } }, 'look'],
    ['too-bright', { tone: { tiltDbPerOctave: 1 } }, 'look'],
    ['turned-down', { loudness: { integratedLufs: -8.9 } }, 'look'],
    ['turned-up', { loudness: { integratedLufs: -25 } }, 'look'],
    ['quiet-file', { peak: { samplePeakDbfs: -30 } }, 'look'],
    ['very-short', { measurement: { seconds: 1.5 } }, 'look'],
    ['polarity-flip', { stereo: { invertedSpans: [{ startSeconds: 3, endSeconds: 9 }] } }, 'mend'],
    ['silent-channel', { stereo: { silentChannels: [1], correlation: null, foldLossDb: 3.01 } }, 'mend'],
    ['idle-channels', { file: { channels: 6 }, stereo: { silentChannels: [3] } }, 'look'],
    ['dual-mono', { stereo: { identical: true } }, 'look'],
    ['channel-delay', { stereo: { delaySamples: -40 } }, 'look'],
    ['mono-loss', { stereo: { foldLossDb: 4 } }, 'look'],
    ['mono-loss', { stereo: { foldLossDb: 9 } }, 'mend'],
    ['wide-bass', { stereo: { bands: bandsWith(0, 2.5) } }, 'look'],
    ['band-mono-loss', { stereo: { bands: bandsWith(3, 4.5) } }, 'look'],
    ['lopsided', { stereo: { balanceDb: -4 } }, 'look'],
    ['flat-tops', { dynamics: { flatTopCount: 300, flatTopShare: 0.4 } }, 'look'],
    ['low-sample-rate', { file: { sampleRate: 32000 } }, 'look'],
    ['low-bit-depth', { file: { bitDepth: 8 } }, 'mend'],
    ['low-bit-depth', { file: { bitDepth: 12 } }, 'look'],
    ['single-channel', { file: { channels: 1 } }, 'look'],
    [
      'container-warnings',
      { file: { warnings: ['The header promises 10.0 s, the file holds 9.2 s.'] } },
      'look',
    ],
    ['lossy-source', { file: { codec: 'MP3', bitDepth: null } }, 'look'],
    [
      'lossy-unchecked',
      { lossyFailed: [{ format: 'MP3 128', code: 'CODEC_FAILED', reason: 'It stopped.' }] },
      'look',
    ],
  ])('%s', (id, changes, severity) => {
    const f = facts(changes);
    expect(ids(f, severity)).toEqual([id]);
    expect(ids(f, severity === 'mend' ? 'look' : 'mend')).toEqual([]);
  });
});

test('no rule calls fine what another asks to look at', () => {
  expect(ids(facts({ loudness: { integratedLufs: -25 } }), 'fine')).not.toContain('turned-down');
  expect(ids(facts({ tone: { lowDb: -15, midDb: -0.5 } }), 'fine')).not.toContain('too-bassy');
});

test('silence is told as silence and nothing else is claimed of it', () => {
  const none = {
    integratedLufs: null,
    rangeLu: null,
    maxMomentaryLufs: null,
    maxShortTermLufs: null,
    reason: 'silence',
  };
  const f = facts({
    loudness: none,
    peak: { samplePeakDbfs: null, truePeakDbtp: null, plrDb: null, crestDb: null },
    tone: { tiltDbPerOctave: null, lowDb: null, midDb: null, highDb: null },
    measurement: { stereo: null },
    lossy: [roundTrip('AAC 128', null)],
  });
  expect(judge(f).findings.map((x) => x.id)).toEqual(['silence']);
});

test('decoded peaks name the worst format and by how much it goes over', () => {
  const [finding] = judge(
    facts({ lossy: [roundTrip('MP3 128', 0.4, 2), roundTrip('AAC 128', 1.26, 9)] }),
  ).findings;
  expect(finding.id).toBe('lossy-overs');
  expect(finding.value).toBe(1.26);
  expect(finding.detail).toContain('AAC 128');
  expect(finding.detail).toContain('1.3 dB above full scale, in nine places');
  expect(finding.detail).toContain('2 of 2 formats go over.');
});

test('one cause is mended once: a file over full scale makes the decoded peaks a matter to look at', () => {
  const f = facts({ peak: { truePeakDbtp: 1, overCount: 4 }, lossy: [roundTrip('AAC 128', 2.4, 9)] });
  expect(ids(f, 'mend')).toEqual(['intersample-overs']);
  expect(ids(f, 'look')).toEqual(['lossy-overs']);
});

test('findings stand by weight: severity first, then how far over', () => {
  const f = facts({
    peak: { truePeakDbtp: 0.2, overCount: 1, plrDb: 2 },
    tone: { lowDb: -0.1, midDb: -10 },
    loudness: { integratedLufs: -4 },
  });
  const { findings, headline } = judge(f);
  expect(findings.slice(0, 4).map((x) => x.id)).toEqual([
    'over-limited',
    'too-bassy',
    'intersample-overs',
    'turned-down',
  ]);
  expect(headline).toBe(
    'Three things to mend before this leaves the bench: squeezed too hard, too much bass and peaks above full scale.',
  );
});

test('spans are kept to fifty and carry times only', () => {
  const overs = Array.from({ length: 80 }, (_, i) => ({
    startSeconds: i,
    endSeconds: i + 0.001,
    channel: 0,
    peakDbtp: 1,
  }));
  const [finding] = judge(facts({ peak: { truePeakDbtp: 1, overCount: 80, overs } })).findings;
  expect(finding.spans).toHaveLength(50);
  expect(finding.spans[0]).toEqual({ startSeconds: 0, endSeconds: 0.001 });
});

test('whatever is measured, every finding fits the shape and no sentence holds NaN, an infinity or undefined', () => {
  const db = fc.oneof(fc.constant(null), fc.double({ min: -120, max: 20, noNaN: true }));
  fc.assert(
    fc.property(
      fc.array(db, { minLength: 9, maxLength: 9 }),
      fc.nat(500),
      ([i, s, t, p, lo, mi, ti, a, b], runs) => {
        const { headline, findings } = judge(
          facts({
            loudness: { integratedLufs: i },
            peak: { samplePeakDbfs: s, truePeakDbtp: t, plrDb: p, clippedRunCount: runs },
            tone: { lowDb: lo, midDb: mi, tiltDbPerOctave: ti },
            lossy: [roundTrip('AAC 128', a), roundTrip('MP3 128', b)],
          }),
        );
        for (const f of findings) findingSchema.parse(f);
        const text = headline + findings.map((f) => `${f.title} ${f.detail} ${f.advice}`).join(' ');
        expect(text).not.toMatch(/NaN|Infinity|undefined|null|-\d/);
        expect(headline).toMatch(/^[A-Z].*\.$/);
      },
    ),
  );
});

describe('profiles', () => {
  const held = (changes: Changes, id: ProfileId, severity: string) =>
    judge(facts(changes), profileOf(id))
      .findings.filter((f) => f.severity === severity)
      .map((f) => f.id);

  test.each<[ProfileId, Changes, string[], string[]]>([
    ['streaming', { loudness: { integratedLufs: -9 } }, [], ['turned-down']],
    ['broadcast-r128', { loudness: { integratedLufs: -22.8 } }, [], []],
    ['broadcast-r128', { loudness: { integratedLufs: -22.7 } }, ['too-loud-for-delivery'], []],
    ['broadcast-r128', { loudness: { integratedLufs: -23.3 } }, ['too-quiet-for-delivery'], []],
    ['broadcast-r128', { loudness: { integratedLufs: -23 }, peak: { truePeakDbtp: -0.75 } }, [], []],
    [
      'broadcast-r128',
      { loudness: { integratedLufs: -23 }, peak: { truePeakDbtp: -0.65 } },
      ['true-peak-room'],
      [],
    ],
    [
      'television-a85',
      { loudness: { integratedLufs: -26 }, peak: { truePeakDbtp: -1.5 } },
      ['true-peak-room'],
      [],
    ],
    [
      'television-a85',
      { loudness: { integratedLufs: -24 }, peak: { truePeakDbtp: -3 }, file: { sampleRate: 44_100 } },
      ['wrong-sample-rate'],
      [],
    ],
    ['online-radio', { loudness: { integratedLufs: -15 } }, ['too-loud-for-delivery'], []],
    ['compact-disc', {}, ['wrong-bit-depth', 'wrong-sample-rate'], []],
    [
      'compact-disc',
      { file: { sampleRate: 44_100, bitDepth: 16 }, loudness: { integratedLufs: -7 } },
      [],
      [],
    ],
    ['vinyl-premaster', { peak: { plrDb: 10 } }, [], ['over-limited']],
    ['vinyl-premaster', { file: { codec: 'MP3', bitDepth: null } }, ['lossy-source'], []],
    [
      'mix-for-finishing',
      { tone: { lowDb: -0.2, midDb: -13 }, loudness: { integratedLufs: -30 } },
      [],
      ['too-bassy'],
    ],
  ])('%s: %j', (id, changes, mend, look) => {
    expect(held(changes, id, 'mend').sort()).toEqual(mend);
    expect(held(changes, id, 'look').sort()).toEqual(look);
  });

  test('what is turned up beyond the ceiling is told to be limited, not only turned up', () => {
    const [finding] = judge(
      facts({ loudness: { integratedLufs: -30 }, peak: { truePeakDbtp: -4 } }),
      profileOf('broadcast-r128'),
    ).findings;
    expect(finding.id).toBe('too-quiet-for-delivery');
    expect(finding.advice).toContain('3.0 dBTP');
  });
});
