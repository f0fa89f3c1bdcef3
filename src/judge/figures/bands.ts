/** The wide bands (src/measure/wide-bands.ts) as they are written in tables. */
const names: Readonly<Record<string, string>> = {
  low: 'Low',
  lowMid: 'Low mid',
  mid: 'Mid',
  presence: 'Presence',
  air: 'Air',
};

/** '20–120 Hz', '500 Hz–2 kHz', '2–6 kHz'. */
function reach(lowHz: number, highHz: number): string {
  if (highHz < 1000) return `${lowHz}–${highHz} Hz`;
  return lowHz < 1000 ? `${lowHz} Hz–${highHz / 1000} kHz` : `${lowHz / 1000}–${highHz / 1000} kHz`;
}

/** 'Low, 20–120 Hz'. */
export function bandName({ name, lowHz, highHz }: { name: string; lowHz: number; highHz: number }): string {
  return `${names[name] ?? name}, ${reach(lowHz, highHz)}`;
}
