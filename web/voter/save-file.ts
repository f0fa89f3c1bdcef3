import { make } from './dom.ts';

/** Puts a file where this browser puts downloads. */
export function saveFile(file: Blob, name: string): void {
  const url = URL.createObjectURL(file);
  const link = make('a', { href: url, download: name });
  document.body.append(link);
  link.click();
  link.remove();
  setTimeout(() => URL.revokeObjectURL(url), 60_000);
}
