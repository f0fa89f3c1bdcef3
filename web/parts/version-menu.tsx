import { Button, Menu, MenuItem, MenuSection, MenuTrigger, Popover, Separator } from 'react-aria-components';
import type { Version, VersionKind } from '../../src/server/api.ts';
import type { Changes } from '../api/queries.ts';
import { isActive } from './job-line.tsx';
import { say } from './toasts.tsx';

const kinds: readonly { id: VersionKind; word: string }[] = [
  { id: 'mix', word: 'It is a mix' },
  { id: 'master', word: 'It is a master' },
  { id: 'reference', word: 'It is a reference' },
];

/** All that can be done with one version. */
export function VersionMenu({
  version,
  changes,
  onMove,
  onDelete,
}: {
  version: Version;
  changes: Changes;
  onMove: () => void;
  onDelete: () => void;
}) {
  const failed = { onError: (error: Error) => say(error.message) };
  return (
    <MenuTrigger>
      <Button className="plain more" aria-label={`More for ${version.name}`}>
        <svg viewBox="0 0 16 16" width="16" height="16" aria-hidden="true">
          <path d="M2 8h2M7 8h2M12 8h2" stroke="currentColor" strokeWidth="2" />
        </svg>
      </Button>
      <Popover className="popover" placement="bottom start">
        <Menu className="menu" aria-label={`More for ${version.name}`}>
          <MenuSection
            aria-label="Kind"
            selectionMode="single"
            disallowEmptySelection
            selectedKeys={[version.kind]}
            onSelectionChange={(keys) => {
              const kind = kinds.find(({ id }) => keys !== 'all' && keys.has(id))?.id;
              if (kind && kind !== version.kind)
                changes.patchVersion.mutate({ id: version.id, kind }, failed);
            }}
          >
            {kinds.map(({ id, word }) => (
              <MenuItem key={id} id={id} className="menu-item">
                {word}
              </MenuItem>
            ))}
          </MenuSection>
          <Separator className="menu-rule" />
          <MenuItem
            id="check"
            className="menu-item"
            isDisabled={isActive(version.job)}
            onAction={() => changes.check.mutate(version.id, failed)}
          >
            {version.verdict ? 'Check again' : 'Check'}
          </MenuItem>
          <MenuItem id="move" className="menu-item" onAction={onMove}>
            Move to another song…
          </MenuItem>
          {version.verdict && (
            <MenuItem
              id="report"
              className="menu-item"
              onAction={() => window.open(`/api/versions/${version.id}/report`, '_blank', 'noopener')}
            >
              Open the report
            </MenuItem>
          )}
          <MenuItem id="delete" className="menu-item" onAction={onDelete}>
            Delete
          </MenuItem>
        </Menu>
      </Popover>
    </MenuTrigger>
  );
}
