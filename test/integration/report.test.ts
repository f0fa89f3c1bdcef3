import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { pathToFileURL } from 'node:url';
import fc from 'fast-check';
import { chromium } from 'playwright-core';
import { describe, expect, test } from 'vitest';
import { reportHtml } from '../../src/deliver/report-html.ts';
import { outside } from '../outside.ts';
import { sampleItem } from './report-sample.ts';

const hostile = `<script>alert(1)</script>"'><img src=x onerror=alert(2)>&amp;\u0000\u001b[31m.wav`;

describe('the text of the report', () => {
  const page = reportHtml([sampleItem(), sampleItem('other.wav', -1.2)], {
    madeAt: '2026-01-02T03:04:05.000Z',
    failed: [{ name: 'x.wav', code: 'FILE_EMPTY', message: '“x.wav” has no bytes.' }],
  });

  test('needs nothing from elsewhere and runs nothing', () => {
    expect(page).not.toMatch(/https?:|\bsrc=|\bhref=|@import|url\(|<script|<link|\son\w+=/i);
  });

  test('holds the headline, every finding, the lossy table, what failed and what was not read', () => {
    const { report } = sampleItem();
    expect(page).toContain(report.headline);
    for (const finding of report.findings) expect(page).toContain(finding.title);
    expect(page).toContain('AAC 128');
    expect(page).toContain('The encoder stopped. (CODEC_FAILED)');
    expect(page).toContain('“x.wav” has no bytes. (FILE_EMPTY)');
    expect(page).toContain('2026-01-02 03:04 UTC');
  });

  test('draws each over as a mark, and no figure is NaN or infinite', () => {
    expect(page.match(/class="over"/g)).toHaveLength(14);
    expect(page).not.toMatch(/NaN|Infinity|undefined|null|\[object/);
  });

  test('is the same for the same report', () => {
    expect(reportHtml([sampleItem()])).toBe(reportHtml([sampleItem()]));
  });
});

test('silence and a single sample draw without a figure missing its axis', () => {
  const item = sampleItem();
  const nothing = reportHtml([
    {
      traces: {
        waveform: { stepSeconds: 1 / 44_100, min: [0], max: [0] },
        loudness: { stepSeconds: 0.1, momentaryLufs: [], shortTermLufs: [], stepPowers: [] },
        tone: { stepSeconds: 0.5, firstSeconds: 0.25, centresHz: [], levelsDb: [] },
        dynamics: { stepSeconds: 0.1, psrDb: [] },
        stereo: null,
      },
      report: {
        ...item.report,
        file: { ...item.report.file, frames: 1, seconds: 1 / 44_100 },
        loudness: {
          integratedLufs: null,
          rangeLu: null,
          maxMomentaryLufs: null,
          maxShortTermLufs: null,
          reason: 'Too short.',
        },
        tone: { ...item.report.tone, levelsDb: item.report.tone.levelsDb.map(() => null) },
        stereo: null,
        dynamics: { ...item.report.dynamics, loudnessHistogram: { fromLufs: null, shares: [] } },
      },
    },
  ]);
  expect(nothing).not.toMatch(/NaN|Infinity/);
  expect(nothing).toContain('Too short.');
  expect(nothing.match(/<svg class="plot"/g)).toHaveLength(1);
});

test('any text from a file comes out as text', () => {
  fc.assert(
    fc.property(fc.string({ unit: 'binary', maxLength: 30 }), (name) => {
      const item = sampleItem();
      const named = { ...item, report: { ...item.report, file: { ...item.report.file, name: `<${name}>` } } };
      const title = /<h1>([\s\S]*?)<\/h1>/.exec(reportHtml([named]))?.[1] ?? '';
      expect(title).not.toMatch(/[<>"']/);
      expect(title.replace(/&(amp|lt|gt|quot|#39);/g, '')).not.toContain('&');
    }),
    { numRuns: 20 },
  );
});

const browserPath = process.env.EVERYROOM_BROWSER ?? outside('chromium');

describe.skipIf(!browserPath)('in a browser', () => {
  test('hostile names stay text, nothing is fetched, it prints at most four pages a song on A4 and Letter', async () => {
    const folder = mkdtempSync(join(tmpdir(), 'report-'));
    const browser = await chromium.launch({ executablePath: browserPath ?? '', args: ['--no-sandbox'] });
    try {
      const path = join(folder, 'report.html');
      writeFileSync(path, reportHtml([sampleItem(hostile), sampleItem('other.wav', -1.2)]));
      const page = await browser.newPage();
      const asked: string[] = [];
      const said: string[] = [];
      page.on('request', (request) => asked.push(request.url()));
      page.on('console', (message) => said.push(message.text()));
      page.on('pageerror', (error) => said.push(error.message));
      page.on('dialog', (dialog) => said.push(dialog.message()));
      await page.goto(pathToFileURL(path).href);
      expect(asked).toHaveLength(1);
      expect(said).toEqual([]);
      expect(await page.locator('script, img, link').count()).toBe(0);
      expect(await page.locator('h1').first().textContent()).toContain('<script>alert(1)</script>');
      // Waveform, loudness, spectrum, tone over time, PSR, histogram and width, of two songs.
      expect(await page.locator('svg.plot:not(.strip)').count()).toBe(14);
      const phone = await browser.newPage({ viewport: { width: 360, height: 800 } });
      await phone.goto(pathToFileURL(path).href);
      // A page that scrolls sideways on a phone hides figures.
      const [wide, inner] = (await phone.evaluate(
        '[document.documentElement.scrollWidth, innerWidth]',
      )) as number[];
      expect(wide).toBeLessThanOrEqual(inner);
      for (const format of ['A4', 'Letter']) {
        const pdf = (await page.pdf({ format })).toString('latin1');
        const pages = pdf.match(/\/Type\s*\/Page\b(?!s)/g)?.length ?? 0;
        expect(pages).toBeGreaterThanOrEqual(4);
        expect(pages).toBeLessThanOrEqual(8);
      }
    } finally {
      await browser.close();
      rmSync(folder, { recursive: true });
    }
  });
});
