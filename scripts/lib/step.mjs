// A slow step, run as a child process and told on the terminal: what it is, that it lives, how long it took.
import { spawn } from 'node:child_process';
import { root } from './root.mjs';

const tty = process.stderr.isTTY && !process.env.CI;
const seconds = (since) => `${((Date.now() - since) / 1000).toFixed(1)} s`;

/** Tell one line on stderr; stdout belongs to the command's result. */
export function say(line) {
  process.stderr.write(`${line}\n`);
}

/**
 * Runs `work` (an async function) under a title. On a terminal the elapsed time runs, with the share that is done
 * when `work` tells it (it is given a function for that, 0..1); elsewhere one line is printed when it starts, one
 * at each quarter told and one when it ends.
 */
export async function step(title, work) {
  const since = Date.now();
  let timer;
  let share = 0;
  if (tty) {
    const draw = () =>
      process.stderr.write(
        `\r\x1b[K… ${title}, ${seconds(since)}${share > 0 ? `, ${Math.round(100 * share)} %` : ''}`,
      );
    draw();
    timer = setInterval(draw, 200);
  } else say(`… ${title}`);
  const end = (mark) => {
    clearInterval(timer);
    process.stderr.write(`${tty ? '\r\x1b[K' : ''}${mark} ${title}, ${seconds(since)}\n`);
  };
  try {
    const result = await work((fraction) => {
      if (!tty && Math.floor(4 * fraction) > Math.floor(4 * share) && fraction < 1)
        say(`… ${title}, ${Math.round(100 * fraction)} %`);
      share = fraction;
    });
    end('ok');
    return result;
  } catch (error) {
    end('failed:');
    throw error;
  }
}

/** Runs a program to its end; its output is kept and shown only when it fails (or all along with `show`). */
export function run(command, args, { show = false, env = {}, cwd = root, shell = false } = {}) {
  return new Promise((resolve, reject) => {
    const child = spawn(command, args, {
      cwd,
      shell,
      env: { ...process.env, ...env },
      stdio: show ? ['ignore', 'inherit', 'inherit'] : ['ignore', 'pipe', 'pipe'],
    });
    let output = '';
    for (const stream of [child.stdout, child.stderr])
      stream?.on('data', (data) => {
        output = (output + data).slice(-200_000);
      });
    child.on('error', (cause) =>
      reject(new StepError(`${command} could not be started: ${cause.message}`, output)),
    );
    child.on('close', (code, signal) => {
      if (code === 0) resolve(output);
      else
        reject(new StepError(`${command} ${args.join(' ')} ended with ${signal ?? `code ${code}`}`, output));
    });
  });
}

/** A step that failed; `output` is what its program printed. */
export class StepError extends Error {
  constructor(message, output) {
    super(message);
    this.output = output;
  }
}
