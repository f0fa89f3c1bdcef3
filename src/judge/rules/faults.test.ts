import { describe, expect, test } from 'vitest';
import { faultless, fit } from '../../../test/faultless.ts';
import { sampleItem } from '../../../test/integration/report-sample.ts';
import type { FaultResult } from '../../measure/faults/fault-meter.ts';
import type { FitnessResult } from '../../measure/fitness.ts';
import type { Facts } from '../facts.ts';
import { profileOf, usualProfileId } from '../profiles.ts';
import { boundsOf, type Rule } from '../rule.ts';
import { faultRules } from './faults.ts';
import { fitnessRules } from './fitness.ts';

interface Changes {
  readonly file?: Partial<Facts['file']>;
  readonly kind?: Facts['kind'];
  readonly faults?: { readonly [K in keyof FaultResult]?: Partial<FaultResult[K]> };
  readonly fitness?: Partial<FitnessResult>;
}

function facts({ file, kind = 'master', faults = {}, fitness }: Changes): Facts {
  const { report } = sampleItem();
  const changed = Object.fromEntries(
    Object.entries(faultless).map(([key, value]) => [key, { ...value, ...faults[key as keyof FaultResult] }]),
  ) as unknown as FaultResult;
  return {
    file: { ...report.file, bitDepth: 24, codec: 'PCM', channels: 2, ...file },
    kind,
    measurement: {
      seconds: 90,
      peak: { truePeakDbtp: -4, overCount: 0 },
      faults: changed,
      fitness: { ...fit, headroomDb: 4, ...fitness },
    } as unknown as Facts['measurement'],
    lossy: [],
    lossyFailed: [],
  };
}

/** The rules of these two rooms that find something, with its severity, and what they say. */
function found(given: Facts): { id: string; severity: string; text: string; spans: number }[] {
  const profile = profileOf(usualProfileId(given.kind));
  return [...faultRules, ...fitnessRules].flatMap((rule: Rule) => {
    const value = rule.read(given, profile);
    if (value === null) return [];
    const bound = boundsOf(rule, profile).find(({ limit, slack = 0 }) =>
      rule.wrong === 'above' ? value > limit + slack : value < limit - slack,
    );
    if (!bound) return [];
    const words = rule.say(value, given, bound.severity, profile);
    return [
      {
        id: rule.id,
        severity: bound.severity,
        text: `${words.title} ${words.detail} ${words.advice}`,
        spans: rule.spans?.(given).length ?? 0,
      },
    ];
  });
}

const span = { startSeconds: 61.2, endSeconds: 61.25, channel: 1 };

test.for(['master', 'mix', 'reference'] as const)('a good %s sets off nothing', (kind) => {
  expect(found(facts({ kind }))).toEqual([]);
});

describe('each fault sets off its own rule and no other', () => {
  test.for<[string, string, Changes]>([
    ['dropouts', 'mend', { faults: { dropouts: { count: 1, dropouts: [{ ...span, edgeDbfs: -12 }] } } }],
    ['clicks', 'look', { faults: { clicks: { count: 2, clicks: [{ ...span, sizeDbfs: -12 }] } } }],
    ['dc-offset', 'look', { faults: { dc: { worstDbfs: -50 } } }],
    ['dc-offset', 'mend', { faults: { dc: { worstDbfs: -30 } } }],
    [
      'hum',
      'look',
      {
        faults: {
          hum: { mainsHz: 50, levelDbfs: -62, lines: [{ hz: 100, levelDbfs: -62, prominenceDb: 25 }] },
        },
      },
    ],
    ['hum', 'mend', { faults: { hum: { mainsHz: 60, levelDbfs: -45, lines: [] } } }],
    ['noise-floor', 'look', { faults: { noise: { floorDbfs: -52 } } }],
    ['subsonic', 'look', { faults: { subsonic: { shareDb: -12 } } }],
    ['subsonic', 'mend', { faults: { subsonic: { shareDb: -5 } } }],
    ['start-cut', 'look', { faults: { ends: { headDbfs: -20 } } }],
    ['end-cut', 'look', { faults: { ends: { tailDbfs: -20 } } }],
    ['silence-inside', 'look', { faults: { ends: { gapCount: 1, gaps: [span] } } }],
    ['long-lead-in', 'look', { faults: { ends: { headQuietSeconds: 4 } } }],
    ['long-lead-out', 'look', { faults: { ends: { tailQuietSeconds: 14 } } }],
    ['empty-bits', 'look', { faults: { grid: { bits: 16 } } }],
    ['empty-bits', 'look', { file: { bitDepth: 32, codec: 'PCM float' }, faults: { grid: { bits: 16 } } }],
    ['empty-bits', 'mend', { file: { bitDepth: 16 }, faults: { grid: { bits: 8 } } }],
    [
      'no-dither',
      'look',
      { file: { bitDepth: 16 }, faults: { grid: { bits: 16, undithered: true, repeatShare: 0.95 } } },
    ],
    [
      'upsampled',
      'look',
      { faults: { bandwidth: { tells: 'upsampled', edgeHz: 21_600, dropDb: 60, sourceRateHz: 44_100 } } },
    ],
    ['lossy-shelf', 'look', { faults: { bandwidth: { tells: 'lossy', edgeHz: 16_000, dropDb: 50 } } }],
    ['mix-headroom', 'look', { kind: 'mix', fitness: { headroomDb: 1 } }],
    ['mix-limited', 'look', { kind: 'mix', fitness: { nearTopShare: 0.05, busLimiting: 'some' } }],
    ['mix-limited', 'mend', { kind: 'mix', fitness: { nearTopShare: 0.5, busLimiting: 'heavy' } }],
    ['mix-noise', 'look', { kind: 'mix', fitness: { loudnessOverNoiseDb: 30 } }],
  ])('%s (%s)', ([id, severity, changes]) => {
    const findings = found(facts(changes));
    expect(findings.map((f) => [f.id, f.severity])).toEqual([[id, severity]]);
    expect(findings[0].text).not.toMatch(/NaN|Infinity|undefined|null|-\d/);
  });
});

test('what is no fault is not told as one', () => {
  const silent: Changes[] = [
    { file: { bitDepth: 32, codec: 'PCM float' } },
    { file: { bitDepth: 16 }, faults: { grid: { bits: 16, undithered: false } } },
    // A lossy file has its own rule, and its decoder leaves no grid.
    {
      file: { codec: 'MP3', bitDepth: null },
      faults: { bandwidth: { tells: 'lossy', edgeHz: 16_000, dropDb: 50 } },
    },
    { fitness: { headroomDb: 0.5, nearTopShare: 0.5, busLimiting: 'heavy' } },
    { kind: 'mix', faults: { noise: { floorDbfs: -52 } }, fitness: { loudnessOverNoiseDb: 60 } },
  ];
  for (const changes of silent) expect(found(facts(changes))).toEqual([]);
});

test('a dropout names the channel and can be played', () => {
  const [finding] = found(
    facts({ faults: { dropouts: { count: 1, dropouts: [{ ...span, edgeDbfs: -12 }] } } }),
  );
  expect(finding.text).toContain('at 1:01.2 in the right channel');
  expect(finding.spans).toBe(1);
});
