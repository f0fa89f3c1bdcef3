import { createHash } from 'node:crypto';
import { readFile } from 'node:fs/promises';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { CodedError } from '../audio/coded-error.ts';

/** A built page as one HTML text with its scripts and styles in it. */
export interface SinglePage {
  readonly html: string;
  /** 'sha256-…' of each script, for a policy that lets no other run. */
  readonly scriptHashes: readonly string[];
}

/** The pages that travel by themselves, and what they are called. */
const pages = { voter: 'The page for voters', notebook: 'The notebook of a walk' } as const;

/** Where the build puts a page. */
function builtPath(name: keyof typeof pages): string {
  const dist = import.meta.url.endsWith('.ts') ? '../../dist' : '../..';
  return fileURLToPath(new URL(`${dist}/${name}`, import.meta.url));
}

const scriptTag = /<script\b([^>]*)\bsrc="([^"]+)"([^>]*)><\/script>/g;
const styleTag =
  /<link\b[^>]*\brel="stylesheet"[^>]*\bhref="([^"]+)"[^>]*>|<link\b[^>]*\bhref="([^"]+)"[^>]*\brel="stylesheet"[^>]*>/g;
const otherLink = /<link\b[^>]*\brel="(?:modulepreload|icon|preload)"[^>]*>\s*/g;

/** Reads a built page. CodedError NOT_FOUND when it is not built. @param path where it was built to, if not in the usual place */
export async function readSinglePage(name: keyof typeof pages, path = builtPath(name)): Promise<SinglePage> {
  const page = await readFile(join(path, 'index.html'), 'utf8').catch((error: unknown) => {
    throw new CodedError('NOT_FOUND', `${pages[name]} is not built. npm start builds it.`, { cause: error });
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

/** Text that a page carries with it: in a script tag that is none, under an id. */
export interface CarriedText {
  readonly id: string;
  readonly type: 'application/json' | 'text/plain';
  readonly text: string;
}

/**
 * A page to be opened from disk: the same, with what it needs to know in it, and a policy of its own.
 *
 * @param policy what it may beside running its own scripts and styles
 */
export function carriedPage(
  { html, scriptHashes }: SinglePage,
  texts: readonly CarriedText[],
  policy: readonly string[],
): string {
  const whole = [
    "default-src 'none'",
    `script-src ${scriptHashes.map((hash) => `'${hash}'`).join(' ')}`,
    "style-src 'unsafe-inline'",
    'img-src data:',
    "base-uri 'none'",
    "form-action 'none'",
    ...policy,
  ].join('; ');
  const carried = texts.map(
    ({ id, type, text }) => `<script type="${type}" id="${id}">${text.replaceAll('<', '\\u003c')}</script>`,
  );
  return html.replace(
    /<head>/,
    () =>
      `<head><meta charset="utf-8"><meta http-equiv="content-security-policy" content="${whole}">${carried.join('')}`,
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
