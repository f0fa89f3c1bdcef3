import { expect, test } from 'vitest';
import { readSinglePage } from '../../src/bench/single-page.ts';
import { scratchFolder } from './server-support.ts';
import { pageStub } from './shootout-support.ts';

test('a script that speaks of its own end does not end when the page is made one text', async () => {
  await using folder = await scratchFolder();
  const { html, scriptHashes } = await readSinglePage('voter', await pageStub(folder.path));
  expect(html).toContain('<\\/script><b>');
  expect(html.match(/<\/script>/g)).toHaveLength(1);
  expect(html).not.toMatch(/\bsrc=|<link/);
  expect(scriptHashes).toHaveLength(1);
});
