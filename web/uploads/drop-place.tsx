import { useEffect, useEffectEvent, useState } from 'react';
import { Button, FileTrigger } from 'react-aria-components';
import type { Destination } from './send.ts';
import { useUploadQueue } from './uploads.tsx';

const carriesFiles = (event: DragEvent) => event.dataTransfer?.types.includes('Files') ?? false;

/** Hands over files dropped anywhere in the window, and says what cannot be one; true while some are held over it. */
export function useWindowDrop(
  onFiles: (files: readonly File[]) => void,
  onFolder: (name: string, message: string) => void,
): boolean {
  const [over, setOver] = useState(false);
  const take = useEffectEvent((items: readonly DataTransferItem[]) => {
    const files: File[] = [];
    for (const item of items) {
      const file = item.getAsFile();
      if (item.webkitGetAsEntry()?.isDirectory)
        onFolder(
          file?.name ?? 'A folder',
          `${file?.name ?? 'This'} is a folder. Drop the files in it instead.`,
        );
      else if (file) files.push(file);
    }
    if (files.length > 0) onFiles(files);
  });

  useEffect(() => {
    // Entering a child fires before leaving its parent: count, or the mark flickers.
    let depth = 0;
    const enter = (event: DragEvent) => {
      if (!carriesFiles(event)) return;
      depth++;
      setOver(true);
    };
    const leave = (event: DragEvent) => {
      if (!carriesFiles(event)) return;
      depth = Math.max(0, depth - 1);
      if (depth === 0) setOver(false);
    };
    const drag = (event: DragEvent) => {
      if (!carriesFiles(event)) return;
      event.preventDefault();
      if (event.dataTransfer) event.dataTransfer.dropEffect = 'copy';
    };
    const drop = (event: DragEvent) => {
      if (!carriesFiles(event)) return;
      event.preventDefault();
      depth = 0;
      setOver(false);
      take([...(event.dataTransfer?.items ?? [])].filter((item) => item.kind === 'file'));
    };
    window.addEventListener('dragenter', enter);
    window.addEventListener('dragleave', leave);
    window.addEventListener('dragover', drag);
    window.addEventListener('drop', drop);
    return () => {
      window.removeEventListener('dragenter', enter);
      window.removeEventListener('dragleave', leave);
      window.removeEventListener('dragover', drag);
      window.removeEventListener('drop', drop);
    };
  }, []);
  return over;
}

/** Brings files dropped anywhere in the window into the queue; true while some are held over it. */
function useQueueDrop(to: Destination): boolean {
  const queue = useUploadQueue();
  return useWindowDrop(
    (files) => queue.add(files, to),
    (name, message) => queue.refuse(name, message, to),
  );
}

export function Veil() {
  return <div className="drop-veil" aria-hidden="true" />;
}

/** Takes dropped files on a screen that shows no place for them: they become versions of its song. */
export function WindowDrop({ songId }: { songId: string }) {
  const over = useQueueDrop({ songId });
  return over ? <Veil /> : null;
}

/**
 * Takes files dropped anywhere in the window, and offers a button for those who do not drag. `songId` makes them
 * versions of that song, `setId` references in that set. A screen has one of these or one `WindowDrop`.
 */
export function DropPlace({
  label,
  hint,
  ...to
}: Destination & {
  label: string;
  hint: string;
}) {
  const queue = useUploadQueue();
  const over = useQueueDrop(to);
  return (
    <>
      <div className={over ? 'drop-place over' : 'drop-place'}>
        <p className="drop-label">{over ? 'Let go to bring it in' : label}</p>
        <FileTrigger allowsMultiple onSelect={(files) => queue.add([...(files ?? [])], to)}>
          <Button className="primary">Choose files…</Button>
        </FileTrigger>
        <p className="note">{hint}</p>
      </div>
      {over && <Veil />}
    </>
  );
}
