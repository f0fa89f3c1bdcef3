/**
 * Size of the coded audio inside a stream, bytes: the packets without what the container puts around them, and
 * without Ogg's header packets, so that a bit rate said of it compares between containers.
 * `container` is FFmpeg's name: 'adts', 'ogg'; anything else counts whole (MP3 and SBC frames are the stream).
 */
export function codedByteCount(container: string, bytes: Uint8Array): number {
  if (container === 'adts') return adtsPayload(bytes);
  if (container === 'ogg') return oggPayload(bytes);
  return bytes.length;
}

/** ISO/IEC 14496-3 Annex 1.A.2 (from memory): syncword, 13-bit frame length at bit 30; a header of 7 bytes, 9 with a checksum. */
function adtsPayload(bytes: Uint8Array): number {
  let payload = 0;
  for (let at = 0; at + 7 <= bytes.length; ) {
    const length = ((bytes[at + 3] & 3) << 11) | (bytes[at + 4] << 3) | (bytes[at + 5] >> 5);
    if (length < 7) break;
    payload += length - (bytes[at + 1] & 1 ? 7 : 9);
    at += length;
  }
  return payload;
}

/** RFC 3533 §6: 27 bytes of page header, the lacing table, the segments. Pages at granule position 0 hold headers. */
function oggPayload(bytes: Uint8Array): number {
  const view = new DataView(bytes.buffer, bytes.byteOffset, bytes.length);
  let payload = 0;
  for (let at = 0; at + 27 <= bytes.length; ) {
    const segments = bytes[at + 26];
    let body = 0;
    for (let i = 0; i < segments && at + 27 + i < bytes.length; i++) body += bytes[at + 27 + i];
    if (view.getBigInt64(at + 6, true) !== 0n) payload += body;
    at += 27 + segments + body;
  }
  return payload;
}
