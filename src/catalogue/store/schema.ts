import { CodedError } from '../../audio/coded-error.ts';
import { migrations } from './migrations.ts';

/** Throws CodedError STORAGE_NEWER when the tables are of a later release than this one. */
export function refuseNewer(version: number, where: string): void {
  if (version > migrations.length)
    throw new CodedError(
      'STORAGE_NEWER',
      `The catalogue in ${where} was written by a newer Everyroom (schema ${version}, this one knows ${migrations.length}). Update Everyroom on this machine.`,
    );
}
