/** A shape of the mouth: five resonances (Hz) with their widths (Hz), and how loud the voice leaves it. */
export interface Mouth {
  readonly hz: readonly [number, number, number, number, number];
  readonly widthHz: readonly [number, number, number, number, number];
  readonly level: number;
}

const widths: Mouth['widthHz'] = [85, 100, 130, 180, 260];
/** The upper three are drawn together, as trained singers do. */
const mouth = (f1: number, f2: number, f3: number, level = 1, widthHz = widths): Mouth => ({
  hz: [f1, f2, f3, 3350, 4100],
  widthHz,
  level,
});

/** Round figures for the vowels, from memory of the phonetics literature; they need only be told apart. */
const vowels: Readonly<Record<string, Mouth>> = {
  a: mouth(780, 1250, 2650, 0.8),
  e: mouth(540, 1850, 2600, 0.95),
  i: mouth(330, 2250, 2950, 1.1),
  o: mouth(490, 900, 2550, 1),
  u: mouth(370, 800, 2450, 1.15),
};

/** Behind closed lips or tongue: low, dull, broad. */
export const nasal = mouth(270, 1050, 2300, 0.5, [110, 300, 350, 400, 500]);

export interface Consonant {
  /** Voice while closed, 0 (voiceless) .. 1. */
  readonly voice: number;
  readonly closedSeconds: number;
  readonly shape: Mouth | null;
  /** Noise at the opening: level, centre, length. */
  readonly hiss?: { readonly level: number; readonly hz: number; readonly seconds: number };
}

const consonants: Readonly<Record<string, Consonant>> = {
  m: { voice: 0.55, closedSeconds: 0.075, shape: nasal },
  n: { voice: 0.55, closedSeconds: 0.065, shape: nasal },
  l: { voice: 0.65, closedSeconds: 0.06, shape: mouth(360, 1250, 2700, 0.6) },
  r: { voice: 0.7, closedSeconds: 0.07, shape: mouth(420, 1150, 1650, 0.7) },
  w: { voice: 0.7, closedSeconds: 0.07, shape: mouth(310, 650, 2300, 0.8) },
  y: { voice: 0.75, closedSeconds: 0.06, shape: mouth(290, 2250, 3000, 0.8) },
  v: {
    voice: 0.4,
    closedSeconds: 0.06,
    shape: mouth(280, 1000, 2300, 0.6),
    hiss: { level: 0.12, hz: 6000, seconds: 0.05 },
  },
  d: {
    voice: 0.12,
    closedSeconds: 0.05,
    shape: mouth(280, 1700, 2600, 0.5),
    hiss: { level: 0.3, hz: 3800, seconds: 0.014 },
  },
  b: {
    voice: 0.12,
    closedSeconds: 0.055,
    shape: mouth(260, 800, 2300, 0.5),
    hiss: { level: 0.2, hz: 1200, seconds: 0.01 },
  },
  t: { voice: 0, closedSeconds: 0.06, shape: null, hiss: { level: 0.5, hz: 5200, seconds: 0.035 } },
  k: { voice: 0, closedSeconds: 0.06, shape: null, hiss: { level: 0.4, hz: 2200, seconds: 0.035 } },
  s: { voice: 0, closedSeconds: 0.1, shape: null, hiss: { level: 0.42, hz: 7200, seconds: 0.1 } },
  h: { voice: 0, closedSeconds: 0.05, shape: null, hiss: { level: 0.14, hz: 1800, seconds: 0.07 } },
};

/** Reads a sung syllable ('na', 'so', 'a'): its opening consonant, if any, and its vowel. null: carry on as before. */
export function syllable(
  word: string,
): { consonant: Consonant | null; vowel: Mouth; vowelHum: boolean } | null {
  if (word === '-' || word === '') return null;
  if (word === 'mm') return { consonant: null, vowel: nasal, vowelHum: true };
  const vowel = vowels[[...word].find((letter) => vowels[letter]) ?? 'a'];
  return { consonant: consonants[word[0]] ?? null, vowel, vowelHum: false };
}
