import type { Source } from '../../src/judge/source.ts';
import { sources } from '../../src/judge/sources.ts';

/** What a limit rests on, folded into one line: its title and how surely it is known; where it was read on demand. */
export function SourceNote({ id }: { id: string }) {
  const source: Source | undefined = (sources as Record<string, Source>)[id];
  if (!source) return <span className="note">Source: {id}</span>;
  return (
    <details className="source">
      <summary>
        <span className="hidden">Limit rests on: </span>
        {source.title}
      </summary>
      <p>
        <em>{source.mark}</em>: {source.where}. <code>{id}</code> in docs/sources.md.
      </p>
    </details>
  );
}
