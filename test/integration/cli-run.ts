import { spawn } from 'node:child_process';
import { once } from 'node:events';
import { fileURLToPath } from 'node:url';

export const root = fileURLToPath(new URL('../..', import.meta.url));
const main = fileURLToPath(new URL('../../dist/program/main.js', import.meta.url));

export interface Ran {
  readonly code: number | null;
  readonly stdout: string;
  readonly stderr: string;
}

export interface RunOptions {
  readonly env?: Record<string, string>;
  /** Run as this user (only root may). */
  readonly uid?: number;
  /** Send this once stderr has said something. */
  readonly interruptWith?: NodeJS.Signals;
}

/** Runs the built command line in a process of its own and waits for its end. Colour and home are set by the caller only. */
export async function everyroom(args: readonly string[], options: RunOptions = {}): Promise<Ran> {
  const { NO_COLOR: _no, FORCE_COLOR: _force, CI: _ci, ...env } = process.env;
  const child = spawn(process.execPath, [main, ...args], {
    env: { ...env, ...options.env },
    uid: options.uid,
    stdio: ['ignore', 'pipe', 'pipe'],
  });
  let stdout = '';
  let stderr = '';
  child.stdout.setEncoding('utf8').on('data', (text: string) => {
    stdout += text;
  });
  child.stderr.setEncoding('utf8').on('data', (text: string) => {
    if (stderr === '' && options.interruptWith) child.kill(options.interruptWith);
    stderr += text;
  });
  const [code] = (await once(child, 'close')) as [number | null];
  return { code, stdout, stderr };
}
