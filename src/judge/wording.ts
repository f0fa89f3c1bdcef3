/** The one place where a figure becomes text: true minus sign, a space before the unit, one decimal. */

/** A number with `digits` decimals; never '−0.0'. */
export function figure(value: number, digits = 1): string {
  const text = Math.abs(value).toFixed(digits);
  return value < 0 && Number(text) !== 0 ? `−${text}` : text;
}

/** A number with its unit: '−1.2 dBTP'. */
export function withUnit(value: number, unit: string, digits = 1): string {
  return unit === '' ? figure(value, digits) : `${figure(value, digits)} ${unit}`;
}

const countedUnits = new Set(['runs', 'bit']);

/** A limit as findings show it: one decimal, counts whole. */
export function limitText(limit: number, unit: string): string {
  return withUnit(limit, unit, countedUnits.has(unit) ? 0 : 1);
}

/** A difference, always with its sign: '+1.2 dB'. */
export function signed(value: number, unit: string, digits = 1): string {
  const text = withUnit(value, unit, digits);
  return value > 0 && Number(value.toFixed(digits)) !== 0 ? `+${text}` : text;
}

/** How large a difference is, without its sign: '1.2 dB'. */
export function size(value: number, unit: string, digits = 1): string {
  return withUnit(Math.abs(value), unit, digits);
}

/** A place in a song: '1:23.4'; from one hour '1:02:03.4'. */
export function clockTime(seconds: number): string {
  const tenths = Math.round(seconds * 10);
  const whole = Math.floor(tenths / 10);
  const pad = (n: number) => String(n).padStart(2, '0');
  const hours = Math.floor(whole / 3600);
  const minutes = Math.floor(whole / 60) % 60;
  const head = hours > 0 ? `${hours}:${pad(minutes)}` : `${minutes}`;
  return `${head}:${pad(whole % 60)}.${tenths % 10}`;
}

const words = [
  'no',
  'one',
  'two',
  'three',
  'four',
  'five',
  'six',
  'seven',
  'eight',
  'nine',
  'ten',
  'eleven',
  'twelve',
];

/** A count in words up to twelve: 'two things', '37 things'. */
export function count(n: number, one: string, many = `${one}s`): string {
  return `${words[n] ?? String(n)} ${n === 1 ? one : many}`;
}

/** 'a, b and c'. */
export function list(parts: readonly string[]): string {
  return parts.length < 2 ? (parts[0] ?? '') : `${parts.slice(0, -1).join(', ')} and ${parts.at(-1)}`;
}

/** First letter small, so that a title can stand inside a sentence; abbreviations stay as they are. */
export function inSentence(title: string): string {
  return /^[A-Z][a-z ]/.test(title) ? title.charAt(0).toLowerCase() + title.slice(1) : title;
}

/** First letter large. */
export function sentenceCase(text: string): string {
  return text.charAt(0).toUpperCase() + text.slice(1);
}
