// Which browser the tests and the screenshot script drive.
import { execFileSync } from 'node:child_process';
import { existsSync } from 'node:fs';

const names = ['chromium', 'chromium-browser', 'google-chrome-stable', 'google-chrome'];
const places = [
  '/usr/bin/chromium',
  '/Applications/Google Chrome.app/Contents/MacOS/Google Chrome',
  '/Applications/Chromium.app/Contents/MacOS/Chromium',
  'C:\\Program Files\\Google\\Chrome\\Application\\chrome.exe',
];

/** Path of EVERYROOM_BROWSER or of a Chromium or Chrome found on this machine; null when there is none. */
export function findBrowser() {
  if (process.env.EVERYROOM_BROWSER) return process.env.EVERYROOM_BROWSER;
  for (const name of names) {
    try {
      return execFileSync('sh', ['-c', `command -v ${name}`], {
        encoding: 'utf8',
        stdio: ['ignore', 'pipe', 'ignore'],
      }).trim();
    } catch {}
  }
  return places.find((place) => existsSync(place)) ?? null;
}

export const browserFlags = [
  '--headless',
  '--no-sandbox',
  '--disable-gpu',
  '--disable-quic',
  '--no-first-run',
  '--disable-background-networking',
  '--disable-component-update',
  '--disable-sync',
  '--autoplay-policy=no-user-gesture-required',
];

export const browserAdvice =
  'No Chromium or Chrome was found, so the browser tests are left out. Install one (Debian: apt-get install chromium) or set EVERYROOM_BROWSER to its path.';
