/** The measuring signal, ready to be played. */
export interface SweepPlayer {
  /**
   * Plays a part of it, or all.
   *
   * @returns resolves when it has ended or was stopped
   */
  play(gainDb: number, part?: { readonly startSeconds: number; readonly seconds: number }): Promise<void>;
  stop(): void;
}

/** So long a part takes to come in and to go out, s: it must not click. */
const edgeSeconds = 0.05;

/** Fetches the signal at `address` and plays it on `context`. Rejects when it cannot be fetched. */
export async function openSweepPlayer(context: AudioContext, address: string): Promise<SweepPlayer> {
  const response = await fetch(address);
  if (!response.ok) throw new Error(`The sweep could not be fetched (status ${response.status}).`);
  const buffer = await context.decodeAudioData(await response.arrayBuffer());
  let playing: AudioBufferSourceNode | null = null;
  return {
    play: (gainDb, part = { startSeconds: 0, seconds: buffer.duration }) =>
      new Promise((resolve) => {
        playing?.stop();
        const source = context.createBufferSource();
        const gain = context.createGain();
        const level = 10 ** (gainDb / 20);
        const now = context.currentTime;
        const end = now + part.seconds;
        gain.gain.setValueAtTime(0, now);
        gain.gain.linearRampToValueAtTime(level, now + edgeSeconds);
        gain.gain.setValueAtTime(level, end - edgeSeconds);
        gain.gain.linearRampToValueAtTime(0, end);
        source.buffer = buffer;
        source.connect(gain).connect(context.destination);
        source.addEventListener('ended', () => {
          if (playing === source) playing = null;
          resolve();
        });
        playing = source;
        source.start(now, part.startSeconds, part.seconds);
      }),
    stop: () => playing?.stop(),
  };
}
