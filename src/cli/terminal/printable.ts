/**
 * Text of unknown origin (file names, tags) made safe for a terminal: control and direction-changing characters,
 * which could move the cursor or hide text, become a visible mark.
 */
export function printable(text: string): string {
  return text.replace(/[\p{Cc}\u200e\u200f\u202a-\u202e\u2066-\u2069]/gu, '�');
}
