import { useEffect, useRef, useState } from 'react';
import { sweepAddress } from '../api/place-queries.ts';
import { openRecorder, type Recorder } from '../sound/recorder.ts';
import { openSweepPlayer, type SweepPlayer } from '../sound/sweep-player.ts';

/** What the microphone is being used for. */
export type RecorderState = 'closed' | 'opening' | 'open' | 'checking' | 'recording';

/** A part of the signal, s. */
interface Part {
  readonly startSeconds: number;
  readonly seconds: number;
}

/** Silence recorded before and after the sweep, s: the room's tail belongs to it. */
const aroundSeconds = 1;
/** Peaks that the meter looks back over: about half a second. */
const peaksKept = 6;

/** The microphone of this machine, with its level, and the sweep out of its loudspeakers. */
export function useRecorder(sweepSeconds: number) {
  const recorder = useRef<Recorder | null>(null);
  const player = useRef<{ readonly seconds: number; readonly of: SweepPlayer } | null>(null);
  const peaks = useRef<number[]>([]);
  const stopped = useRef(false);
  const [state, setState] = useState<RecorderState>('closed');
  const [trouble, setTrouble] = useState<string | null>(null);
  /** Highest of the last half second, dBFS. */
  const [peakDbfs, setPeak] = useState(-120);
  const [kept, setKept] = useState<readonly string[]>([]);
  const [seconds, setSeconds] = useState(0);

  useEffect(
    () => () => {
      player.current?.of.stop();
      void recorder.current?.close();
      recorder.current = null;
    },
    [],
  );

  const open = async (): Promise<Recorder | null> => {
    if (recorder.current) return recorder.current;
    setState('opening');
    setTrouble(null);
    try {
      const opened = await openRecorder((peak) => {
        peaks.current = [...peaks.current.slice(1 - peaksKept), peak];
        setPeak(Math.max(...peaks.current));
        setSeconds(recorder.current?.seconds ?? 0);
      });
      recorder.current = opened;
      setKept(opened.kept);
      setState('open');
      return opened;
    } catch (error) {
      setTrouble((error as Error).message);
      setState('closed');
      return null;
    }
  };

  const close = () => {
    player.current?.of.stop();
    player.current = null;
    void recorder.current?.close();
    recorder.current = null;
    setState('closed');
  };

  const playerFor = async ({ context }: Recorder): Promise<SweepPlayer> => {
    if (player.current?.seconds !== sweepSeconds)
      player.current = {
        seconds: sweepSeconds,
        of: await openSweepPlayer(context, `/api/places/sweep.wav?${sweepAddress(sweepSeconds)}`),
      };
    return player.current.of;
  };

  /** Plays a part of the sweep for as long as it takes; what is heard is on the meter only. */
  const check = async (gainDb: number, part: Part) => {
    const opened = await open();
    if (!opened) return;
    setState('checking');
    try {
      await (await playerFor(opened)).play(gainDb, part);
    } catch (error) {
      setTrouble((error as Error).message);
    }
    if (recorder.current) setState('open');
  };

  /** Records, and plays the whole sweep meanwhile. null when it was stopped or went wrong. */
  const recordSweep = async (gainDb: number): Promise<File | null> => {
    const opened = await open();
    if (!opened) return null;
    stopped.current = false;
    setState('recording');
    try {
      const sweep = await playerFor(opened);
      opened.keep();
      await later(aroundSeconds);
      if (!stopped.current) await sweep.play(gainDb);
      if (!stopped.current) await later(aroundSeconds);
    } catch (error) {
      setTrouble((error as Error).message);
      stopped.current = true;
    }
    const file = opened.take();
    if (recorder.current) setState('open');
    return stopped.current ? null : file;
  };

  return {
    state,
    trouble,
    peakDbfs,
    kept,
    seconds,
    open,
    close,
    check,
    recordSweep,
    /** Begins to record what something else plays. */
    begin: async () => {
      const opened = await open();
      if (!opened) return;
      opened.keep();
      setState('recording');
    },
    /** Ends that. */
    end: (): File | null => {
      const file = recorder.current?.take() ?? null;
      setState('open');
      return file;
    },
    /** Stops whatever plays. */
    stop: () => {
      stopped.current = true;
      player.current?.of.stop();
    },
  };
}

const later = (seconds: number) => new Promise<void>((resolve) => setTimeout(resolve, 1000 * seconds));
