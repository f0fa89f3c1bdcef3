import type { WalkNotebook, WalkPageData } from '../../src/places/walk-shapes.ts';
import { refusal } from '../voter/served-booth.ts';
import { carriedBytes } from './excerpts.ts';

/** Where a notebook comes from: the bench, or the file that it lies in. */
export interface Source {
  readonly fromDisk: boolean;
  notebook(): Promise<WalkNotebook>;
  sound(handle: string): Promise<ArrayBuffer>;
  /** Addresses that notes are sent to. */
  readonly reach: readonly string[];
}

/** @param base the notebook's own address, without a slash at its end */
export function served(base: string): Source {
  const ask = async (path: string): Promise<Response> => {
    const response = await fetch(base + path, { cache: 'no-store' });
    if (!response.ok) throw await refusal(response);
    return response;
  };
  return {
    fromDisk: false,
    reach: [base],
    notebook: async () => (await (await ask('/notebook')).json()) as WalkNotebook,
    sound: async (handle) => (await ask(`/sounds/${handle}`)).arrayBuffer(),
  };
}

export function carried({ notebook, reach }: WalkPageData): Source {
  return {
    fromDisk: true,
    reach,
    notebook: () => Promise.resolve(notebook),
    sound: (handle) => Promise.resolve(carriedBytes(handle)),
  };
}
