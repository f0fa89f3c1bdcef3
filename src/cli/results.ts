import { CodedError } from '../audio/coded-error.ts';
import { openResults, type Results } from '../bench/store/results.ts';
import { complain } from './terminal/complain.ts';

/** Kept results only save time: without them the work goes on, and says so once. */
export async function openResultsIfPossible(): Promise<Results | null> {
  try {
    return await openResults();
  } catch (error) {
    if (!(error instanceof CodedError)) throw error;
    complain(error);
    process.stderr.write('Going on all the same; results will not be kept.\n');
    return null;
  }
}
