import { useRef } from 'react';
import { say } from '../parts/toasts.tsx';

/** Opens a chain that was saved as a file. What is wrong with it, the server says. */
export function ChainFile({ onChain }: { onChain: (chain: unknown) => void }) {
  const field = useRef<HTMLInputElement>(null);
  const take = async (file: File | undefined) => {
    if (!file) return;
    try {
      onChain(JSON.parse(await file.text()));
    } catch {
      say(`“${file.name}” is no chain: it is not JSON.`);
    }
  };
  return (
    <>
      <button type="button" className="plain" onClick={() => field.current?.click()}>
        Open one from a file
      </button>
      <input
        ref={field}
        type="file"
        hidden
        aria-label="A chain as a file"
        accept=".json,application/json"
        onChange={(event) => {
          void take(event.target.files?.[0]);
          event.target.value = '';
        }}
      />
    </>
  );
}
