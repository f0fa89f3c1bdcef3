// Outside programs that tests compare with, and the browser they drive: installed where that is possible
// without asking (root on Debian), named where it is not.
import { execFileSync } from 'node:child_process';
import { existsSync, readFileSync } from 'node:fs';
import { findPostgres } from './postgres.mjs';
import { run, say, step } from './step.mjs';

/** What proves that it is there -> Debian package. */
const wanted = [
  { program: 'ffmpeg', package: 'ffmpeg' },
  { program: 'sox', package: 'sox' },
  { program: 'lame', package: 'lame' },
  { program: 'mpg123', package: 'mpg123' },
  { program: 'opusenc', package: 'opus-tools' },
  { program: 'oggenc', package: 'vorbis-tools' },
  { program: 'flac', package: 'flac' },
  { program: 'cuebreakpoints', package: 'cuetools' },
  { program: 'sndfile-convert', package: 'sndfile-programs' },
  { program: 'sndfile-resample', package: 'samplerate-programs' },
  { program: 'gcc', package: 'gcc libc6-dev' },
  { program: 'taskset', package: 'util-linux' },
  { file: '/usr/include/ebur128.h', package: 'libebur128-dev' },
  { found: () => findPostgres() !== null, package: 'postgresql' },
];

const browserPackage = { program: 'chromium', package: 'chromium fonts-liberation' };

/** Whether the machine has a program. */
export function hasProgram(program) {
  try {
    execFileSync('sh', ['-c', `command -v ${program}`], { stdio: 'ignore' });
    return true;
  } catch {
    return false;
  }
}

const has = ({ program, file, found }) => found?.() ?? (file ? existsSync(file) : hasProgram(program));

const isDebian = () => {
  try {
    return /^ID(_LIKE)?=.*debian/m.test(readFileSync('/etc/os-release', 'utf8'));
  } catch {
    return false;
  }
};

/** Installs what is missing when root on Debian; elsewhere says what will be left out. */
export async function outsidePrograms({ browserFound }) {
  const missing = [...wanted, ...(browserFound ? [] : [browserPackage])].filter((item) => !has(item));
  if (missing.length === 0) return;
  const packages = missing.flatMap((item) => item.package.split(' '));
  if (isDebian() && process.getuid?.() === 0) {
    const env = { DEBIAN_FRONTEND: 'noninteractive' };
    await step(`installing what tests compare with (${packages.join(', ')})`, async () => {
      await run('apt-get', ['update', '-qq'], { env });
      await run('apt-get', ['install', '-y', '-qq', '--no-install-recommends', ...packages], { env });
    });
    return;
  }
  say(
    `Not installed here: ${packages.join(', ')}. Tests that compare with them are left out, each with a line that says so.`,
  );
}
