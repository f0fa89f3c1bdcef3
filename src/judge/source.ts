/** How surely a source is known. */
export type SourceMark = 'read in' | 'from memory' | 'common practice' | 'heuristic' | 'computed';

export interface Source {
  readonly title: string;
  readonly mark: SourceMark;
  /** Where it was read, or what it rests on. */
  readonly where: string;
}
