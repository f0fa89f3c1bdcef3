import { useEffect, useEffectEvent, useState } from 'react';
import { Button, FileTrigger } from 'react-aria-components';
import type { Destination } from './send.ts';
import { useUploadQueue } from './uploads.tsx';

const carriesFiles = (event: DragEvent) => event.dataTransfer?.types.includes('Files') ?? false;

/** Brings files dropped anywhere in the window into the queue; true while some are held over it. */
function useWindowDrop(to: Destination): boolean {
  const queue = useUploadQueue();
  const [over, setOver] = useState(false);
  const take = useEffectEvent((items: readonly DataTransferItem[]) => {
    const files: File[] = [];
    for (const item of items) {
      const file = item.getAsFile();
      if (item.webkitGetAsEntry()?.isDirectory)
        queue.refuse(
          file?.name ?? 'A folder',
          `${file?.name ?? 'This'} is a folder. Drop the sound files in it instead.`,
          to,
        );
      else if (file) files.push(file);
    }
    if (files.length > 0) queue.add(files, to);
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

function Veil() {
  return <div className="drop-veil" aria-hidden="true" />;
}

/** Takes dropped files on a screen that shows no place for them: they become versions of its song. */
export function WindowDrop({ songId }: { songId: string }) {
  const over = useWindowDrop({ songId });
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
  const over = useWindowDrop(to);
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
