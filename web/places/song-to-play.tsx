import { Link } from 'wouter';
import { useSongs } from '../api/queries.ts';

/** Which song of the bench plays in the place, instead of a sweep. */
export function SongToPlay({ value, onChange }: { value: string; onChange: (id: string) => void }) {
  const songs = useSongs();
  const versions = (songs.data ?? []).flatMap((song) =>
    song.versions.map(({ id, name }) => ({ id, name: `${song.title}: ${name}` })),
  );
  return (
    <>
      <p className="sentence">
        Play exactly this file there, a minute or so, and record it. Full, steady music tells most; what is
        not in the song cannot be measured.
      </p>
      {versions.length === 0 && songs.data ? (
        <p className="sentence">
          There is no song on the bench yet. <Link href="/">Bring one in</Link>, or use the sweep.
        </p>
      ) : (
        <label className="find">
          Song
          <select value={value} onChange={(event) => onChange(event.target.value)}>
            <option value="">choose</option>
            {versions.map(({ id, name }) => (
              <option key={id} value={id}>
                {name}
              </option>
            ))}
          </select>
        </label>
      )}
    </>
  );
}
