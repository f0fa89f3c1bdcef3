import { type ReactNode, useState } from 'react';
import type { ShootoutDetail } from '../../src/server/shootout-api.ts';
import { usePackCheck, useShootoutChanges } from '../api/shootout-queries.ts';
import { FolderDialog } from '../parts/folder-dialog.tsx';
import { SeverityMark } from '../parts/severity.tsx';
import { say } from '../parts/toasts.tsx';
import { WrittenFiles } from './written-files.tsx';

/** What goes out to the makers: the mix, whether it is fit for that, and a brief. */
export function Pack({ shootout }: { shootout: ShootoutDetail }) {
  const [open, setOpen] = useState(false);
  return (
    <details className="group" onToggle={(event) => setOpen(event.currentTarget.open)}>
      <summary>
        <h3>Send the mix out</h3>
        <span className="note">a folder with the mix, a brief and checksums</span>
      </summary>
      {open && <PackBody shootout={shootout} />}
    </details>
  );
}

function PackBody({ shootout: { id, mixName } }: { shootout: ShootoutDetail }) {
  const check = usePackCheck(id, true);
  const { writePack } = useShootoutChanges(id);
  const [choosing, setChoosing] = useState(false);
  const [references, setReferences] = useState('');
  const [wishes, setWishes] = useState('');
  const [deadline, setDeadline] = useState('');
  const write = (folder: string) =>
    writePack.mutate(
      { folder, brief: { references, wishes, deadline } },
      { onSuccess: () => setChoosing(false), onError: (error) => say(error.message) },
    );
  return (
    <div className="pack">
      <section aria-label="Is the mix fit to be sent out">
        {check.isPending && <p className="note">Looking at the mix…</p>}
        {check.isError && <p className="sentence">{check.error.message}</p>}
        {check.data?.findings.length === 0 && (
          <p className="sentence">{mixName} is fit to be sent out: nothing in it stands in a maker’s way.</p>
        )}
        <ul className="plain-list fitness">
          {check.data?.findings.map(({ severity, title, text }) => (
            <li key={title}>
              <p>
                <SeverityMark severity={severity} /> <b>{title}</b>
              </p>
              <p className="sentence">{text}</p>
            </li>
          ))}
        </ul>
      </section>
      <div className="brief">
        <Field label="What you wish for">
          <textarea
            rows={4}
            maxLength={4000}
            value={wishes}
            onChange={(event) => setWishes(event.target.value)}
          />
        </Field>
        <Field label="Records it should stand beside">
          <textarea
            rows={3}
            maxLength={4000}
            value={references}
            onChange={(event) => setReferences(event.target.value)}
          />
        </Field>
        <Field label="By when">
          <input maxLength={200} value={deadline} onChange={(event) => setDeadline(event.target.value)} />
        </Field>
        <button type="button" className="secondary" onClick={() => setChoosing(true)}>
          Write the folder…
        </button>
        {writePack.data && <WrittenFiles written={writePack.data} />}
      </div>
      {choosing && (
        <FolderDialog
          act="Write into"
          waiting={writePack.isPending}
          onChosen={({ token }) => write(token)}
          onClose={() => setChoosing(false)}
        />
      )}
    </div>
  );
}

function Field({ label, children }: { label: string; children: ReactNode }) {
  return (
    // biome-ignore lint/a11y/noLabelWithoutControl: the control is the child
    <label className="pack-field">
      <span>{label}</span>
      {children}
    </label>
  );
}
