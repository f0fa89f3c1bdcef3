/**
 * Bytes that can be read from any place, with the name a person knows them by. Parsers read through this, so they
 * know nothing of files, and a file of any size is never held as a whole.
 */
export interface ByteSource {
  /** Base name of the file, for error sentences. */
  readonly name: string;
  /** Total number of bytes. */
  readonly size: number;
  /**
   * Reads `length` bytes from `position`; fewer only where the source ends. The result belongs to the caller; it may lie in
   * `room`, where that is given.
   */
  read(position: number, length: number, room?: Uint8Array): Promise<Uint8Array>;
}

/** Bytes that are in memory already, as a ByteSource. Reads are copies. */
export function memorySource(name: string, bytes: Uint8Array): ByteSource {
  return {
    name,
    size: bytes.length,
    read: async (position, length) => bytes.slice(position, position + length),
  };
}

/** A DataView over exactly these bytes. */
export function viewOf(bytes: Uint8Array): DataView {
  return new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);
}

/** Bytes [start, end) as Latin-1 text; what a four-character chunk name is read with. */
export function latin1(bytes: Uint8Array, start: number, end: number): string {
  return String.fromCharCode(...bytes.subarray(start, end));
}
