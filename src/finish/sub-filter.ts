import { pass } from './analogue.ts';
import { matchSection } from './matched.ts';
import { onBoth, PairBench, PairFilter } from './pair-filter.ts';
import { alwaysFollows, type Format, type Part, type PartKind } from './part.ts';
import type { ValuesOf } from './settings.ts';
import { type Engine, passing, SucceedingPart } from './successor.ts';

const subFilterFields = {
  hertz: { kind: 'number', label: 'frequency', unit: 'Hz', lowest: 0, highest: 60, default: 0 },
  slope: { kind: 'choice', label: 'slope', choices: ['12', '24', '48'] as const, default: '24' },
} as const;

type Settings = ValuesOf<typeof subFilterFields>;

/** Takes away DC and what lies below hearing: a Butterworth high-pass, -3 dB at `hertz`; 0 Hz is off. */
export const subFilter: PartKind<typeof subFilterFields> = {
  id: 'sub-filter',
  name: 'the sub filter',
  fields: subFilterFields,
  isNeutral: ({ hertz }) => hertz === 0,
  canFollow: alwaysFollows,
  prepare,
};

/** Below this a filter would take minutes to forget. */
const lowestHertz = 1;

function prepare(settings: Settings, format: Format): Part<Settings> {
  // exp(-w0 sin(pi / 16) t), the slowest pole of the steepest slope, twice over
  const tailSamples =
    settings.hertz === 0 ? 0 : Math.ceil((25 / Math.max(lowestHertz, settings.hertz)) * format.sampleRate);
  return new SucceedingPart(settings, format, (each) => engineOf(each, format.sampleRate), { tailSamples });
}

function engineOf({ hertz, slope }: Settings, sampleRate: number): Engine {
  if (hertz === 0) return passing;
  const bench = new PairBench();
  const filter = new PairFilter(
    bench,
    pass('high-pass', Math.max(lowestHertz, hertz), Number(slope) / 6)
      .flatMap((section) => matchSection(section, sampleRate))
      .map(onBoth),
  );
  return {
    process(block) {
      bench.load(block);
      filter.process(bench.data, block[0].length);
      bench.store(block);
    },
    reset: () => filter.reset(),
  };
}
