/** True on a terminal that says how large it is and is watched by somebody. */
export function canDraw(stream: NodeJS.WriteStream): boolean {
  return stream.isTTY && stream.columns > 0 && stream.rows > 0 && !process.env.CI;
}
