import { z } from 'zod';

/** What the makers are told, as the user words it. */
export const wordsSchema = z.object({
  /** Records that it should stand beside. */
  references: z.string().trim().max(4000).default(''),
  wishes: z.string().trim().max(4000).default(''),
  deadline: z.string().trim().max(200).default(''),
});
export type BriefWords = z.infer<typeof wordsSchema>;
