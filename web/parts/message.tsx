import type { ReactNode } from 'react';
import { Link } from 'wouter';
import { ApiFailure } from '../api/client.ts';

/** A screen that has only one thing to say. */
export function Message({ title, children }: { title: string; children?: ReactNode }) {
  return (
    <div className="sheet">
      <div className="entry">
        <div className="body">
          <h1 className="headline">{title}</h1>
          {children}
        </div>
      </div>
    </div>
  );
}

/** What stands in place of a screen whose answer did not come. */
export function Unanswered({ error, retry }: { error: Error; retry: () => void }) {
  const lost = error instanceof ApiFailure && error.unreachable;
  return (
    <Message title={lost ? 'Everyroom is not answering.' : error.message}>
      <p>
        <button type="button" className="plain" onClick={retry}>
          Try again
        </button>{' '}
        <Link href="/">Back to the bench</Link>
      </p>
    </Message>
  );
}
