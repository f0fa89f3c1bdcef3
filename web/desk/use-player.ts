import { useEffect, useState } from 'react';
import type { DeskPlayer, PlayerState } from './desk-player.ts';
import { openDeskPlayer } from './open-desk-player.ts';

/** One player for as long as the screen is open; null until it is there. */
export function usePlayer(): DeskPlayer | null {
  const [player, setPlayer] = useState<DeskPlayer | null>(null);
  useEffect(() => {
    const opened = openDeskPlayer();
    setPlayer(opened);
    return () => {
      setPlayer(null);
      void opened.close();
    };
  }, []);
  return player;
}

/** The player's state, drawn anew when it changes; its position is read at each frame instead. */
export function usePlayerState(player: DeskPlayer): PlayerState {
  const [state, setState] = useState(player.state);
  useEffect(() => {
    setState(player.state);
    return player.subscribe(() => setState(player.state));
  }, [player]);
  return state;
}
