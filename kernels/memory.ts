/** Zeroed room for `bytes` bytes, on a 16-byte boundary. Never given back: an instance lives as long as its buffers. */
export function allocate(bytes: i32): usize {
  const pointer = (heap.alloc(bytes + 15) + 15) & ~15;
  memory.fill(pointer, 0, bytes);
  return pointer;
}
