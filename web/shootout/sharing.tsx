import type { ShootoutDetail } from '../../src/server/shootout-api.ts';
import { useSharing, useShootoutChanges } from '../api/shootout-queries.ts';
import { SharingPanel } from '../parts/sharing-panel.tsx';
import { say } from '../parts/toasts.tsx';

/** Whether others on this network can come in: off until somebody switches it on for this shoot-out. */
export function SharingSwitch({ shootout: { id } }: { shootout: ShootoutDetail }) {
  const sharing = useSharing();
  const { share } = useShootoutChanges(id);
  const failed = { onError: (error: Error) => say(error.message) };
  return (
    <SharingPanel
      what="shoot-out"
      sharing={sharing.data}
      mine={sharing.data?.shootoutId === id}
      note="Plain http: whoever can listen in on this network could hear the sections. Share at home or in the studio, not in a café. Each link opens one listener’s rounds and nothing else."
      waiting={share.isPending}
      onShare={(hours, done) => share.mutate({ on: true, hours }, { ...failed, onSuccess: done })}
      onStop={() => share.mutate({ on: false }, failed)}
    >
      <p className="sentence">
        Phones and laptops on the same network can then open their own link and hear the sections, without
        names. It is plain http: whoever can listen in on this network could hear them too.
      </p>
    </SharingPanel>
  );
}
