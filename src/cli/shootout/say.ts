import { printable } from '../terminal/printable.ts';
import { hang } from '../terminal/wrap.ts';

const width = (): number =>
  Math.min(100, Math.max(40, (process.stdout.isTTY === true && process.stdout.columns) || 80));

/** One paragraph on standard output. */
export function say(text: string, first = ''): void {
  process.stdout.write(`${hang(first, printable(text), width()).join('\n')}\n`);
}

/** One JSON object on standard output. */
export function sayJson(value: unknown): void {
  process.stdout.write(`${JSON.stringify(value, null, 2)}\n`);
}
