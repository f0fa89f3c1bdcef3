import { createHash } from 'node:crypto';
import { readFile } from 'node:fs/promises';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { CodedError } from '../../audio/coded-error.ts';
import type { VoterFolder } from '../../shootout/voter-shapes.ts';

/** The built voter page as one HTML text with its scripts and styles in it. */
export interface VoterPage {
  readonly html: string;
  /** 'sha256-…' of each script, for a policy that lets no other run. */
  readonly scriptHashes: readonly string[];
}

/** Where the build puts the voter page. */
const builtPath = fileURLToPath(
  import.meta.url.endsWith('.ts')
    ? new URL('../../../dist/voter', import.meta.url)
    : new URL('../../../voter', import.meta.url),
);

const scriptTag = /<script\b([^>]*)\bsrc="([^"]+)"([^>]*)><\/script>/g;
const styleTag =
  /<link\b[^>]*\brel="stylesheet"[^>]*\bhref="([^"]+)"[^>]*>|<link\b[^>]*\bhref="([^"]+)"[^>]*\brel="stylesheet"[^>]*>/g;
const otherLink = /<link\b[^>]*\brel="(?:modulepreload|icon|preload)"[^>]*>\s*/g;

/** Reads the built page. CodedError NOT_FOUND when it is not built. */
export async function readVoterPage(path = builtPath): Promise<VoterPage> {
  const page = await readFile(join(path, 'index.html'), 'utf8').catch((error: unknown) => {
    throw new CodedError('NOT_FOUND', 'The page for voters is not built. npm start builds it.', {
      cause: error,
    });
  });
  const read = (url: string) => readFile(join(path, url.replace(/^\.?\//, '')), 'utf8');
  const styles = await replaced(
    page.replace(otherLink, ''),
    styleTag,
    async ([, a, b]) => `<style>${(await read(a ?? b)).replaceAll('</style', '<\\/style')}</style>`,
  );
  // At the end of the body: an inlined module waits for the page anyway, another script would not.
  const scripts: string[] = [];
  const bare = await replaced(styles, scriptTag, async ([, , src]) => {
    scripts.push((await read(src)).replaceAll('</script', '<\\/script').replaceAll('<!--', '<\\!--'));
    return '';
  });
  const html = bare.replace(
    /<\/body>/,
    () => `${scripts.map((script) => `<script type="module">${script}</script>`).join('')}</body>`,
  );
  return {
    html,
    scriptHashes: scripts.map((script) => `sha256-${createHash('sha256').update(script).digest('base64')}`),
  };
}

/** The page for a folder: the same, with what it needs to know in it, and a policy of its own. */
export function folderPage({ html, scriptHashes }: VoterPage, data: VoterFolder): string {
  const json = JSON.stringify(data).replaceAll('<', '\\u003c');
  const policy = [
    "default-src 'none'",
    `script-src ${scriptHashes.map((hash) => `'${hash}'`).join(' ')}`,
    "style-src 'unsafe-inline'",
    // From disk, 'self' is not what lies beside the page in every browser.
    "media-src 'self' file: blob:",
    'img-src data:',
    "base-uri 'none'",
    "form-action 'none'",
  ].join('; ');
  return html.replace(
    /<head>/,
    () =>
      `<head><meta charset="utf-8"><meta http-equiv="content-security-policy" content="${policy}"><script type="application/json" id="everyroom-round">${json}</script>`,
  );
}

async function replaced(
  text: string,
  pattern: RegExp,
  by: (match: RegExpMatchArray) => Promise<string>,
): Promise<string> {
  let result = '';
  let at = 0;
  for (const match of text.matchAll(pattern)) {
    result += text.slice(at, match.index) + (await by(match));
    at = match.index + match[0].length;
  }
  return result + text.slice(at);
}
