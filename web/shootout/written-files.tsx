import type { Written } from '../../src/server/shootout-api.ts';
import { bytes, count } from '../words/figures.ts';

const mostListed = 8;

/** What was written, and where it lies or can be fetched. */
export function WrittenFiles({ written }: { written: Written }) {
  const { path, key, files } = written;
  const total = files.reduce((sum, file) => sum + file.bytes, 0);
  return (
    <div role="status" className="written">
      {path !== null ? (
        <p>
          ✓ {count(files.length, 'file')}, {bytes(total)}, written to <code className="path">{path}</code>
        </p>
      ) : (
        <>
          <p>✓ {count(files.length, 'file')}, kept for an hour. Fetch each:</p>
          <ul>
            {files.slice(0, mostListed).map(({ name, bytes: size }) => (
              <li key={name}>
                <a href={`/api/shootouts/written/${key}/${name}`} download>
                  {name}
                </a>{' '}
                <span className="note">{bytes(size)}</span>
              </li>
            ))}
          </ul>
          {files.length > mostListed && <p className="note">and {files.length - mostListed} more</p>}
        </>
      )}
    </div>
  );
}
