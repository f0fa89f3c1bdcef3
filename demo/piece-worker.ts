import { parentPort } from 'node:worker_threads';
import { renderPiece } from './render-piece.ts';

/** What the worker is asked for and answers; one piece at a time. */
export interface PieceOrder {
  readonly id: string;
  readonly folder: string;
}
export type PieceAnswer =
  | { readonly kind: 'progress'; readonly fraction: number }
  | { readonly kind: 'done' }
  | { readonly kind: 'failed'; readonly error: unknown };

parentPort?.on('message', async ({ id, folder }: PieceOrder) => {
  const answer = (message: PieceAnswer) => parentPort?.postMessage(message);
  try {
    await renderPiece(id, folder, { progress: (fraction) => answer({ kind: 'progress', fraction }) });
    answer({ kind: 'done' });
  } catch (error) {
    answer({ kind: 'failed', error });
  }
});
