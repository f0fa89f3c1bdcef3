// Interleaved little-endian samples, as sound files store them, to planar f32.

/** Three bytes of each sample into the upper bytes of a lane. */
@inline
function widened(bytes: v128): v128 {
  return i8x16.swizzle(bytes, i8x16(-1, 0, 1, 2, -1, 3, 4, 5, -1, 6, 7, 8, -1, 9, 10, 11));
}

@inline
function scaled(lanes: v128): v128 {
  return f32x4.mul(f32x4.convert_i32x4_s(lanes), f32x4.splat(1.0 / 2147483648));
}

/**
 * Takes samples apart: an n-bit integer over 2^(n-1), exact up to 24 bits and rounded to the nearest at 32.
 *
 * @param bytes `frames` frames, and 16 bytes after them that may hold anything
 * @param width bytes a sample: 2, 3 or 4
 * @param out f32, `frames` for each channel, channels `room` apart; written
 */
export function unpackIntegers(bytes: usize, width: i32, channels: i32, frames: i32, out: usize, room: i32): void {
  const roomBytes = <usize>room << 2;
  const whole = channels > 2 ? 0 : frames & ~3;
  if (channels == 1) unpackMono(bytes, width, whole, out);
  else if (channels == 2) unpackStereo(bytes, width, whole, out, out + roomBytes);
  const step = <usize>(width * channels);
  for (let channel = 0; channel < channels; channel++) {
    let at = bytes + <usize>whole * step + <usize>(channel * width);
    let to = out + <usize>channel * roomBytes + (<usize>whole << 2);
    for (let i = whole; i < frames; i++) {
      let x: i32 = 0;
      if (width == 2) x = <i32>load<u16>(at) << 16;
      else if (width == 3) x = (<i32>load<u16>(at) << 8) | (<i32>load<u8>(at, 2) << 24);
      else x = load<i32>(at);
      store<f32>(to, <f32>x * <f32>(1.0 / 2147483648));
      at += step;
      to += 4;
    }
  }
}

function unpackMono(bytes: usize, width: i32, frames: i32, out: usize): void {
  const step = <usize>(width * 4);
  for (const end = out + (<usize>frames << 2); out < end; out += 16) {
    let x = v128.load(bytes);
    if (width == 2) x = i32x4.shl(i32x4.extend_low_i16x8_s(x), 16);
    else if (width == 3) x = widened(x);
    v128.store(out, scaled(x));
    bytes += step;
  }
}

function unpackStereo(bytes: usize, width: i32, frames: i32, left: usize, right: usize): void {
  const half = <usize>(width * 4);
  for (const end = left + (<usize>frames << 2); left < end; left += 16) {
    let a = v128.load(bytes);
    let b = v128.load(bytes + half);
    if (width == 2) {
      a = i32x4.shl(i32x4.extend_low_i16x8_s(a), 16);
      b = i32x4.shl(i32x4.extend_low_i16x8_s(b), 16);
    } else if (width == 3) {
      a = widened(a);
      b = widened(b);
    }
    v128.store(left, scaled(i32x4.shuffle(a, b, 0, 2, 4, 6)));
    v128.store(right, scaled(i32x4.shuffle(a, b, 1, 3, 5, 7)));
    bytes += half << 1;
    right += 16;
  }
}
