/** A stretch of time in a song. */
export interface Span {
  readonly startSeconds: number;
  readonly endSeconds: number;
}
