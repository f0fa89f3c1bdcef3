import { z } from 'zod';
import { clockTime, withUnit } from './wording.ts';

/** What the makers are told, as the user words it. */
export const briefSchema = z.object({
  /** Records that it should stand beside. */
  references: z.string().trim().max(4000).default(''),
  wishes: z.string().trim().max(4000).default(''),
  deadline: z.string().trim().max(200).default(''),
});
export type Brief = z.infer<typeof briefSchema>;

/** The mix that goes out, as far as its makers need to know it. */
export interface BriefMix {
  readonly title: string;
  readonly fileName: string;
  readonly sampleRate: number;
  readonly bits: string;
  readonly seconds: number;
  readonly integratedLufs: number | null;
  readonly truePeakDbtp: number | null;
  readonly sha256: string;
}

/** The plain text that goes with a mix to whoever is asked for a master. */
export function briefText(brief: Brief, mix: BriefMix): string {
  const { title, fileName, sampleRate, bits, seconds, integratedLufs, truePeakDbtp, sha256 } = mix;
  const part = (head: string, text: string) => (text === '' ? [] : [head, text, '']);
  const level = (value: number | null, unit: string) => (value === null ? 'none' : withUnit(value, unit));
  return [
    title,
    '',
    ...part('WHAT IS WISHED FOR', brief.wishes),
    ...part('REFERENCES', brief.references),
    ...part('BY WHEN', brief.deadline),
    'THE MIX',
    `File: ${fileName}`,
    `Format: ${sampleRate} Hz, ${bits}, ${clockTime(seconds)} long`,
    `Level: ${level(integratedLufs, 'LUFS')}, true peak ${level(truePeakDbtp, 'dBTP')}`,
    `SHA-256: ${sha256}`,
    '',
    'WHAT TO SEND BACK',
    'One finished master of the whole song as WAV, AIFF or FLAC. The sample rate of the mix is best; another one is taken too.',
    'The file may have any name. Its beginning and end may be cut as you like; what is left is laid over the mix.',
    '',
    'HOW IT WILL BE JUDGED',
    'Blind, beside other masters of the same mix: the same passages, at the same loudness. Being louder gains nothing.',
    '',
  ].join('\n');
}
