import { useSyncExternalStore } from 'react';

const narrow = () => window.matchMedia('(max-width: 40rem)');

function watch(changed: () => void): () => void {
  const media = narrow();
  media.addEventListener('change', changed);
  return () => media.removeEventListener('change', changed);
}

/** Whether the window is as narrow as a phone; the style sheets draw the line at the same width. */
export function useNarrow(): boolean {
  return useSyncExternalStore(watch, () => narrow().matches);
}
