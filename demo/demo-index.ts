/** What `index.json` beside the rendered demo record says. All file names are relative to its folder. */
export interface DemoIndex {
  readonly record: { readonly title: string; readonly artist: string };
  /** In album order. */
  readonly songs: readonly DemoSong[];
  readonly references: readonly DemoReference[];
}

export interface DemoSong {
  /** Stable, lower case with hyphens. */
  readonly id: string;
  readonly title: string;
  readonly artist: string;
  /** The mix first, then the masters in the order they were 'sent in'. */
  readonly versions: readonly DemoVersion[];
}

export interface DemoVersion {
  /** What a person would call it: 'Mix', 'Master, take 2'. Tells nothing about its quality. */
  readonly name: string;
  readonly kind: 'mix' | 'master';
  readonly file: string;
  /** What is wrong with it, for documents and tests; never to be shown to someone who is listening blind. */
  readonly note: DemoNote;
}

/**
 * The fault built into a master, null where there is none:
 * 'overs' = sample peaks at 0 dBFS with inter-sample peaks above; 'bassy' = low end several dB too heavy;
 * 'thin' = bass cut and limited far too hard.
 */
export type DemoFault = 'overs' | 'bassy' | 'thin';

export interface DemoNote {
  readonly fault: DemoFault | null;
  /** One plain sentence. */
  readonly text: string;
}

export interface DemoReference {
  readonly title: string;
  readonly artist: string;
  readonly file: string;
}
