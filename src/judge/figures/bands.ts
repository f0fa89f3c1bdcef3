/** The wide bands (src/measure/wide-bands.ts) as they are written in tables. */
const names: Readonly<Record<string, string>> = {
  low: 'Low',
  lowMid: 'Low mid',
  mid: 'Mid',
  presence: 'Presence',
  air: 'Air',
};

const hertz = (value: number): string => (value >= 1000 ? `${value / 1000}k` : String(value));

/** 'Low, 20–120 Hz'. */
export function bandName({ name, lowHz, highHz }: { name: string; lowHz: number; highHz: number }): string {
  return `${names[name] ?? name}, ${hertz(lowHz)}–${hertz(highHz)} Hz`;
}
