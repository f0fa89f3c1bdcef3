import type { Singer } from '../instruments/voice.ts';

/** The band's lead: a light, breathy alto. */
export const leadSinger: Singer = { tract: 0.9, breath: 0.5, vibrato: 0.28, vibratoHz: 5.5, scoop: 1.1 };

/** Sings the thirds: straighter, softer. */
export const secondSinger: Singer = { tract: 0.97, breath: 0.7, vibrato: 0.16, vibratoHz: 5.1, scoop: 0.6 };
