import type { SongInPlace } from './places-report.ts';
import { figure, signed } from './wording.ts';

/** One figure of a song in a place, as a table shows it. */
export interface PlaceFigureText {
  readonly label: string;
  readonly value: string;
  /** What the references have; '' without any. */
  readonly references: string;
  /** Whether it lies outside them by what is worth a word. */
  readonly outside: boolean;
}

const bands: Readonly<Record<string, string>> = {
  low: 'bass',
  lowMid: 'low middle',
  mid: 'middle',
  presence: 'presence',
  air: 'air',
};
const labels: Readonly<Record<string, readonly [label: string, text: (value: number) => string]>> = {
  heard: ['heard', (v) => `${figure(100 * v, 0)} %`],
  balance: ['in the balance', (v) => signed(v, 'phon')],
  'loudness-loss': ['loudness lost', (v) => `${figure(v)} phon`],
  lost: ['nothing heard', (v) => `${figure(100 * v, 0)} %`],
  'mono-loss': ['lost in mono', (v) => `${figure(v)} dB`],
  harshness: ['harsher', (v) => signed(v, 'phon')],
  pumping: ['pumping', (v) => `${figure(v)} dB/s`],
  'bass-carried': ['harmonics for missing bass', (v) => `${figure(100 * v, 0)} %`],
};

/** All figures of a place in their order, the lead's last. */
export function placeFigureTexts({ figures, lead }: SongInPlace): PlaceFigureText[] {
  const rows = figures.map(({ name, value, references, outside }): PlaceFigureText => {
    const [, kind, band] = /^(heard|balance)-(\w+)$/.exec(name) ?? [null, name, null];
    const [label, text] = labels[kind];
    return {
      label: band === null ? label : `${bands[band]}, ${label}`,
      value: text(value),
      references: references ? between(text(references.low), text(references.high)) : '',
      outside: Math.abs(outside) >= 1,
    };
  });
  if (!lead) return rows;
  const index = (value: number) => figure(value, 2);
  return [
    ...rows,
    { label: 'lead over the noise (SII)', value: index(lead.overNoise), references: '', outside: false },
    {
      label: 'lead over all else (SII)',
      value: index(lead.overAll),
      references: lead.references ? between(index(lead.references.low), index(lead.references.high)) : '',
      outside: false,
    },
  ];
}

function between(low: string, high: string): string {
  return low === high ? low : `${low.replace(/ \S+$/, '')} to ${high}`;
}
