import { useEffect, useState, useSyncExternalStore } from 'react';
import { Button, Menu, MenuItem, MenuTrigger, Popover } from 'react-aria-components';

const choices = [
  { id: 'system', word: 'As the system' },
  { id: 'light', word: 'Light' },
  { id: 'dark', word: 'Dark' },
] as const;
type Choice = (typeof choices)[number]['id'];

const storageKey = 'everyroom.theme';
const current = (): Choice => (document.documentElement.dataset.theme as Choice | undefined) ?? 'system';

function choose(choice: Choice): void {
  if (choice === 'system') delete document.documentElement.dataset.theme;
  else document.documentElement.dataset.theme = choice;
  try {
    if (choice === 'system') localStorage.removeItem(storageKey);
    else localStorage.setItem(storageKey, choice);
  } catch {
    // Without storage the choice holds until the page is left.
  }
}

/** Light, dark or as the system; remembered by this browser. */
export function ThemeSwitch() {
  const [choice, setChoice] = useState(current);
  return (
    <MenuTrigger>
      <Button className="plain" aria-label={`Paper: ${choices.find((c) => c.id === choice)?.word}`}>
        <svg viewBox="0 0 16 16" width="16" height="16" aria-hidden="true">
          <circle cx="8" cy="8" r="6" fill="none" stroke="currentColor" strokeWidth="1.5" />
          <path d="M8 2a6 6 0 0 1 0 12Z" fill="currentColor" />
        </svg>
        Paper
      </Button>
      <Popover className="popover" placement="bottom end">
        <Menu
          className="menu"
          aria-label="Paper"
          selectionMode="single"
          disallowEmptySelection
          selectedKeys={[choice]}
          onAction={(key) => {
            choose(key as Choice);
            setChoice(key as Choice);
          }}
        >
          {choices.map(({ id, word }) => (
            <MenuItem key={id} id={id} className="menu-item">
              {word}
            </MenuItem>
          ))}
        </Menu>
      </Popover>
    </MenuTrigger>
  );
}

const systemDark = () => window.matchMedia('(prefers-color-scheme: dark)');

function watch(changed: () => void): () => void {
  const media = systemDark();
  const observer = new MutationObserver(changed);
  observer.observe(document.documentElement, { attributes: true, attributeFilter: ['data-theme'] });
  media.addEventListener('change', changed);
  return () => {
    observer.disconnect();
    media.removeEventListener('change', changed);
  };
}

/** 'light' or 'dark' as it is on the screen now; drawings on canvas redraw when it changes. */
export function useShownTheme(): 'light' | 'dark' {
  return useSyncExternalStore(watch, () => {
    const choice = current();
    if (choice !== 'system') return choice;
    return systemDark().matches ? 'dark' : 'light';
  });
}

/** Names the window after what it shows. */
export function useTitle(title: string): void {
  useEffect(() => {
    document.title = title === '' ? 'Everyroom' : `${title} – Everyroom`;
  }, [title]);
}
