import type { Piece } from '../piece.ts';
import { ferryLight } from './ferry-light.ts';
import { quietMachinery } from './quiet-machinery.ts';
import { saltInTheRadio } from './salt-in-the-radio.ts';

/** The record, invented like all who play on it. */
export const record = { title: 'Lamps on the Far Bank', artist: 'The Brindle Ferries' };

/** Its songs in order. */
export const songs: readonly Piece[] = [ferryLight, saltInTheRadio, quietMachinery];
