import { useEffect, useRef, useState } from 'react';
import type { Excerpt } from './excerpt.ts';
import { LoopPlayer, type Part } from './loop-player.ts';

/**
 * Plays an excerpt while `wanted` is true, and switches with `part`. `prepare` is to be called in the very press that
 * wants sound: some browsers let audio begin nowhere else.
 */
export function useLoop(
  excerpt: Excerpt | undefined,
  expectedRate: number,
  part: Part,
  wanted: boolean,
): { playing: boolean; prepare: () => void } {
  const context = useRef<AudioContext | null>(null);
  const player = useRef<LoopPlayer | null>(null);
  const heard = useRef(part);
  const [playing, setPlaying] = useState(false);

  const prepare = () => {
    context.current ??= new AudioContext({ sampleRate: expectedRate });
    void context.current.resume();
  };

  useEffect(() => {
    if (!wanted || !excerpt) return;
    if (context.current?.sampleRate !== excerpt.sampleRate) {
      void context.current?.close();
      context.current = new AudioContext({ sampleRate: excerpt.sampleRate });
    }
    const playedIn = context.current;
    const started = new LoopPlayer(playedIn, excerpt.sounds, excerpt.sampleRate, heard.current);
    player.current = started;
    started.start();
    setPlaying(true);
    return () => {
      player.current = null;
      setPlaying(false);
      void started.stop();
    };
  }, [excerpt, wanted]);

  useEffect(() => {
    heard.current = part;
    player.current?.switchTo(part);
  }, [part]);

  // The screen is left: let go of the sound device.
  useEffect(
    () => () => {
      void context.current?.close();
      context.current = null;
    },
    [],
  );

  return { playing, prepare };
}
