import type { WideBandName } from '../../src/measure/wide-bands.ts';

/** The five bands of hearing as they stand beside a drawing: in full, and where there is little room. */
export const bandNames: Record<WideBandName, { readonly name: string; readonly short: string }> = {
  low: { name: 'Bass', short: 'bass' },
  lowMid: { name: 'Low middle', short: 'low m.' },
  mid: { name: 'Middle', short: 'mid' },
  presence: { name: 'Presence', short: 'pres.' },
  air: { name: 'Air', short: 'air' },
};
