import { spawn } from 'node:child_process';
import { once } from 'node:events';
import { mkdtemp, rename, rm, stat } from 'node:fs/promises';
import { join } from 'node:path';
import { pathToFileURL } from 'node:url';
import type { Run } from '../../audio/run.ts';

/** Programs that print a page to a file, by the names they are installed under. */
const browsers = ['chromium', 'chromium-browser', 'google-chrome', 'chrome', 'microsoft-edge'];
const mostMilliseconds = 60_000;

/**
 * Prints a page as PDF with the browser of this machine. Where there is none, or it does not print, there is no PDF: the page
 * prints as well. Its bytes carry the time of printing, so it is not among the checksums.
 */
export async function printPdf(pagePath: string, pdfPath: string, work: string, run: Run): Promise<boolean> {
  for (const browser of browsers) {
    const profile = await mkdtemp(join(work, 'print-'));
    const made = join(profile, 'page.pdf');
    try {
      await printWith(browser, pagePath, made, profile, run);
      if ((await stat(made).catch(() => null))?.size) {
        await rename(made, pdfPath);
        return true;
      }
    } finally {
      await rm(profile, { recursive: true, force: true, maxRetries: 5 });
    }
  }
  return false;
}

async function printWith(
  browser: string,
  page: string,
  pdf: string,
  profile: string,
  run: Run,
): Promise<void> {
  const asRoot = process.getuid?.() === 0 ? ['--no-sandbox'] : [];
  const child = spawn(
    browser,
    [
      ...['--headless', '--disable-gpu', '--no-first-run', '--no-pdf-header-footer', ...asRoot],
      ...[`--user-data-dir=${profile}`, `--print-to-pdf=${pdf}`, pathToFileURL(page).href],
    ],
    { stdio: 'ignore', windowsHide: true },
  );
  const stop = (): void => void child.kill('SIGKILL');
  const limit = setTimeout(stop, mostMilliseconds);
  run.signal?.addEventListener('abort', stop);
  try {
    // A browser that is not there tells so by 'error'.
    await Promise.race([once(child, 'close'), once(child, 'error')]).catch(() => {});
  } finally {
    clearTimeout(limit);
    run.signal?.removeEventListener('abort', stop);
    stop();
  }
}
