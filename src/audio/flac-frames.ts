/** One frame of a FLAC stream (RFC 9639 section 9), whole and with a good checksum. */
export interface FlacFrame {
  readonly bytes: Uint8Array;
  /** Sample frames in it. */
  readonly frames: number;
  /** Its place in the song, sample frames. */
  readonly position: number;
}

interface FrameHeader {
  readonly frames: number;
  readonly position: number;
}

/** Longest frame header, bytes: sync and codes 4, number 7, block size 2, rate 2, checksum 1 (RFC 9639 section 9.1). */
const longestHeader = 16;

/**
 * Cuts the bytes of a FLAC stream, given piece by piece, into frames. A frame ends where a header with a good
 * checksum follows and its own checksum is good (section 9.3). Where bytes are damaged, the frames around them are
 * kept and those in them are left out; the positions tell how much is missing.
 */
export class FlacFrameCutter {
  private held = new Uint8Array(0);
  private start = -1;
  private header: FrameHeader | null = null;
  private scan = 0;
  private crc = 0;
  private readonly blockFrames: number;
  private readonly longestFrame: number;

  /**
   * `blockFrames`: block size of a stream of fixed blocks; `longestFrame`: bytes beyond which a frame cannot be
   * whole, so that damage does not make us hold the rest of the file.
   */
  constructor(blockFrames: number, longestFrame: number) {
    this.blockFrames = blockFrames;
    this.longestFrame = longestFrame;
  }

  /** Takes more bytes and gives back the frames that are whole now. */
  push(bytes: Uint8Array): FlacFrame[] {
    const joined = new Uint8Array(this.held.length + bytes.length);
    joined.set(this.held);
    joined.set(bytes, this.held.length);
    this.held = joined;
    return this.cut(joined.length - longestHeader);
  }

  /** The end of the stream: the last frame, when it is whole. */
  finish(): FlacFrame[] {
    const frames = this.cut(this.held.length - 1);
    if (this.start >= 0) {
      while (this.scan < this.held.length) this.crc = nextCrc16(this.crc, this.held[this.scan++]);
      if (this.crc === 0) frames.push(...this.frame(this.held.length));
    }
    this.held = new Uint8Array(0);
    this.start = -1;
    this.scan = 0;
    return frames;
  }

  /** Looks for frame ends at places below `limit`: those where a whole header is in hand. */
  private cut(limit: number): FlacFrame[] {
    const frames: FlacFrame[] = [];
    const { held } = this;
    for (; this.scan < limit; this.scan++) {
      const at = this.scan;
      if (held[at] === 0xff && (held[at + 1] & 0xfe) === 0xf8) {
        const header = readHeader(held, at, this.blockFrames);
        const ended = this.start >= 0 && this.crc === 0;
        if (header && (ended || this.isBroken(at, header))) {
          if (ended) frames.push(...this.frame(at));
          this.start = at;
          this.header = header;
          this.crc = 0;
        }
      }
      if (this.start >= 0) this.crc = nextCrc16(this.crc, held[at]);
    }
    if (this.start >= 0 && this.scan - this.start > this.longestFrame) this.start = -1;
    const keep = this.start >= 0 ? this.start : this.scan;
    this.held = held.slice(keep);
    this.scan -= keep;
    if (this.start >= 0) this.start = 0;
    return frames;
  }

  /**
   * Whether the frame being read is given up for the one that seems to begin at `at`: it would be longer than a frame
   * can be, or the new header carries the very place that comes after it. A header inside coded sound is chance.
   */
  private isBroken(at: number, next: FrameHeader): boolean {
    if (this.start < 0 || !this.header || at - this.start > this.longestFrame) return true;
    return next.position === this.header.position + this.header.frames;
  }

  private frame(end: number): FlacFrame[] {
    return this.header ? [{ bytes: this.held.slice(this.start, end), ...this.header }] : [];
  }
}

/** The frame header at `at`, or null where there is none with a good checksum. */
function readHeader(bytes: Uint8Array, at: number, blockFrames: number): FrameHeader | null {
  const sizeCode = bytes[at + 2] >> 4;
  const rateCode = bytes[at + 2] & 15;
  if (sizeCode === 0 || rateCode === 15 || bytes[at + 3] >> 4 > 10 || bytes[at + 3] & 1) return null;
  const first = bytes[at + 4];
  const extra = first < 0x80 ? 0 : Math.clz32(~(first << 24)) - 1;
  if (extra < 0 || extra > 6 || (first >= 0x80 && extra === 0)) return null;
  let number = first < 0x80 ? first : first & (0x3f >> extra);
  for (let i = 1; i <= extra; i++) number = number * 64 + (bytes[at + 4 + i] & 0x3f);
  let end = at + 5 + extra;
  let frames = sizeCode === 1 ? 192 : sizeCode <= 5 ? 144 << sizeCode : 1 << sizeCode;
  if (sizeCode === 6) frames = bytes[end++] + 1;
  else if (sizeCode === 7) {
    frames = ((bytes[end] << 8) | bytes[end + 1]) + 1;
    end += 2;
  }
  end += rateCode === 12 ? 1 : rateCode === 13 || rateCode === 14 ? 2 : 0;
  if (end >= bytes.length) return null;
  let crc = 0;
  for (let i = at; i < end; i++) crc = crc8Table[crc ^ bytes[i]];
  if (crc !== bytes[end]) return null;
  const variable = (bytes[at + 1] & 1) === 1; // blocks of varying size count samples, others count blocks
  return { frames, position: variable ? number : number * blockFrames };
}

/** CRC-8 of the header, x^8+x^2+x+1, and CRC-16 of the frame, x^16+x^15+x^2+1 (sections 9.1.8 and 9.3). */
const crc8Table = crcTable(8, 0x07);
const crc16Table = crcTable(16, 0x8005);

function crcTable(bits: number, polynomial: number): Uint16Array {
  const top = 1 << (bits - 1);
  const mask = 2 ** bits - 1;
  return Uint16Array.from({ length: 256 }, (_, byte) => {
    let crc = byte << (bits - 8);
    for (let k = 0; k < 8; k++) crc = crc & top ? (crc << 1) ^ polynomial : crc << 1;
    return crc & mask;
  });
}

function nextCrc16(crc: number, byte: number): number {
  return ((crc << 8) & 0xffff) ^ crc16Table[(crc >> 8) ^ byte];
}
