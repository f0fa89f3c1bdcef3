import { join } from 'node:path';
import type { Run } from '../audio/run.ts';
import { type Chain, changePart } from '../finish/chain.ts';
import { planFinish, splitTail, withoutDither } from '../finish/finish-plan.ts';
import type { CeilingStep } from '../judge/finish-report.ts';
import type { KnownFile } from './hashed-file.ts';
import type { Pool } from './pool.ts';
import { kept, type Workshop } from './run-task.ts';
import { type CeilingStepFigures, ceilingStepTask } from './tasks/ceiling-step.ts';
import { finishHeadTask } from './tasks/finish-head.ts';

export const stepDb = 0.1;

/** Ceilings from `fromDbtp` down, a tenth apart. */
export function ceilingsFrom(fromDbtp: number, rows: number): number[] {
  return Array.from({ length: rows }, (_, row) => Math.round((fromDbtp - row * stepDb) * 100) / 100);
}

/** Those above a ceiling that was found, as far as the limit, and below it. */
export function stepsAround(ceilingDbtp: number, limitDbtp: number): number[] {
  const above = Math.min(3, Math.max(0, Math.floor((limitDbtp - ceilingDbtp) / stepDb + 1e-9)));
  return ceilingsFrom(ceilingDbtp + above * stepDb, above + 4);
}

/**
 * How loud what reaches a limiter is after it, ceiling by ceiling, the limiter driven as hard: rendered and measured each.
 *
 * @param headPath a file of what reaches the tail
 */
export async function ceilingSteps(
  headPath: string,
  {
    name,
    tail,
    ceilings,
  }: { readonly name: string; readonly tail: Chain; readonly ceilings: readonly number[] },
  pool: Pool,
  run: Run,
): Promise<CeilingStep[]> {
  const { limiting, rest } = splitTail(tail);
  const limiter = limiting.parts[limiting.parts.length - 1];
  const shares = ceilings.map(() => 0);
  const rows = await Promise.all(
    ceilings.map(async (ceilingDbtp, row) => {
      const options = {
        name,
        limiting: changePart(limiting, limiter.id, { ceilingDbtp }),
        rest: withoutDither(rest),
      };
      const found: CeilingStepFigures = await pool.run(
        ceilingStepTask,
        { files: [{ path: headPath }], options },
        {
          signal: run.signal,
          progress: (fraction) => {
            shares[row] = fraction;
            run.progress?.(shares.reduce((sum, share) => sum + share, 0) / ceilings.length);
          },
        },
      );
      return { ceilingDbtp, ...found };
    }),
  );
  const first = rows[0]?.integratedLufs ?? null;
  return rows.map(({ ceilingDbtp, integratedLufs, reduction }) => ({
    ceilingDbtp,
    integratedLufs,
    lostLu: first === null || integratedLufs === null ? null : first - integratedLufs,
    deepestDb: reduction.deepestDb,
    workingDb: reduction.workingDb,
  }));
}

/**
 * The same for a file and a chain, kept: a limiter is added when none holds the chain's peaks. CodedError as the chain and the file
 * give.
 */
export async function ceilingStepsOf(
  file: KnownFile,
  asked: { readonly chain: Chain; readonly name: string; readonly fromDbtp?: number; readonly rows: number },
  scratchPath: string,
  workshop: Workshop,
  run: Run,
): Promise<CeilingStep[]> {
  const { chain, name, rows } = asked;
  const plan = planFinish(chain, { needsLimiter: true });
  const fromDbtp = asked.fromDbtp ?? Number(plan.limiter?.settings.ceilingDbtp);
  return kept(
    { name: 'ceiling-steps', version: 1 },
    { files: [file], options: { chain, fromDbtp, rows } },
    workshop.results,
    run,
    async () => {
      const outPath = join(scratchPath, 'head.wav');
      const options = { chain: plan.head, name, outPath };
      await workshop.pool.run(
        finishHeadTask,
        { files: [{ path: file.path }], options },
        { signal: run.signal },
      );
      const ceilings = ceilingsFrom(fromDbtp, rows).filter((ceiling) => ceiling >= -20);
      return ceilingSteps(outPath, { name, tail: plan.tail, ceilings }, workshop.pool, run);
    },
  );
}
