import type { RoundTrip } from '../../survive/round-trip-result.ts';
import type { Facts } from '../facts.ts';
import type { Rule } from '../rule.ts';
import { count, list, sentenceCase, signed, size } from '../wording.ts';
import { hasOvers } from './peaks.ts';

function worst({ lossy }: Facts): RoundTrip | null {
  return lossy.reduce<RoundTrip | null>(
    (high, trip) => ((trip.truePeakDbtp ?? -Infinity) > (high?.truePeakDbtp ?? -Infinity) ? trip : high),
    null,
  );
}

const lossyCodecs = ['AAC', 'MP3', 'VORBIS', 'OPUS'];

/** True when the file itself is coded with loss. */
export function isLossyFile({ codec }: Facts['file']): boolean {
  return lossyCodecs.includes(codec.toUpperCase());
}

export const codingRules: readonly Rule[] = [
  {
    id: 'lossy-overs',
    unit: 'dBTP',
    read: (facts) => worst(facts)?.truePeakDbtp ?? null,
    wrong: 'above',
    bounds: [
      { severity: 'mend', limit: 0, slack: 0.2, source: 'full-scale' },
      { severity: 'look', limit: 0, source: 'lossy-tiny' },
    ],
    step: 1,
    followsFrom: hasOvers,
    say: (value, facts) => {
      const trip = worst(facts);
      const over = facts.lossy.filter((t) => (t.truePeakDbtp ?? -1) > 0).length;
      return {
        title: 'Streams would clip',
        detail: `After coding as ${trip?.format ?? 'a stream'} and decoding again, the peaks reach ${signed(value, 'dBTP')}: ${size(value, 'dB')} above full scale, in ${count(trip?.overs ?? 0, 'place')}. ${over} of ${facts.lossy.length} formats ${over === 1 ? 'goes' : 'go'} over.`,
        advice: hasOvers(facts)
          ? 'The file itself already passes full scale; mend that first and check again.'
          : `Lower the ceiling by about ${size(value + 0.1, 'dB')} and check again.`,
      };
    },
    fine: (value, facts) => ({
      title: 'Survives lossy coding',
      detail: `After ${count(facts.lossy.length, 'format')} the highest decoded peak is ${signed(value, 'dBTP')} (${worst(facts)?.format ?? ''}).`,
    }),
    spans: (facts) => worst(facts)?.overSpans ?? [],
  },
  {
    id: 'lossy-unchecked',
    unit: '',
    read: ({ lossyFailed }) => lossyFailed.length,
    wrong: 'above',
    bounds: [{ severity: 'look', limit: 0, source: 'sound-present' }],
    step: 1,
    say: (value, { lossyFailed }) => ({
      title: `${sentenceCase(count(value, 'format'))} not checked`,
      detail: `${list(lossyFailed.map((f) => f.format))} could not be tried: ${lossyFailed[0]?.reason ?? ''}`,
      advice: '',
    }),
  },
  {
    id: 'lossy-source',
    unit: '',
    read: ({ file }) => (isLossyFile(file) ? 1 : 0),
    wrong: 'above',
    bounds: [{ severity: 'look', limit: 0, source: 'uncoded-source' }],
    step: 1,
    say: (_value, { file }) => ({
      title: 'A lossy file',
      detail: `The sound is coded as ${file.codec}, which has thrown part of it away; every service will code it once more.`,
      advice: 'Ask for the uncoded file (WAV, AIFF or FLAC) and finish from that.',
    }),
  },
];
