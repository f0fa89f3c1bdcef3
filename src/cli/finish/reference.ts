import { chainJsonSchema } from '../../finish/chain-schema.ts';
import { startingChain } from '../../finish/starting-chain.ts';
import { styleFor } from '../terminal/style.ts';
import { partsText } from './parts-text.ts';

/** The chain to standard output, so that it can go to a file; what each part is for to standard error. */
export function printExample(): void {
  const { chain, why } = startingChain();
  process.stdout.write(`${JSON.stringify(chain, null, 2)}\n`);
  process.stderr.write(`${chain.parts.map(({ id }, i) => `${id}: ${why[i]}`).join('\n')}\n`);
}

export function printParts(): void {
  process.stdout.write(partsText(styleFor(process.stdout.isTTY === true)));
}

export function printSchema(): void {
  process.stdout.write(`${JSON.stringify(chainJsonSchema(), null, 2)}\n`);
}
