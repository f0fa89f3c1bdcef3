/**
 * JSON text that reads back as the same value. JSON.stringify would quietly write null for NaN and infinity and an
 * object for a typed array; a figure that got lost that way would look like 'does not exist', so here it throws.
 */
export function exactJson(value: unknown): string {
  refuseInexact(value, '');
  return JSON.stringify(value);
}

/** By hand: a replacer function makes JSON.stringify several times slower. */
function refuseInexact(value: unknown, key: string): void {
  if (typeof value === 'number' && !Number.isFinite(value)) throw new TypeError(`'${key}' is ${value}`);
  if (typeof value !== 'object' || value === null) return;
  if (ArrayBuffer.isView(value)) throw new TypeError(`'${key}' is a typed array`);
  if (Array.isArray(value)) for (let i = 0; i < value.length; i++) refuseInexact(value[i], key);
  else for (const [name, part] of Object.entries(value)) refuseInexact(part, name);
}

/** As exactJson, with the members of every object in order of their names: equal options give equal text. */
export function keyJson(value: unknown): string {
  return JSON.stringify(JSON.parse(exactJson(value)), (_key, part: unknown) =>
    part !== null && typeof part === 'object' && !Array.isArray(part)
      ? Object.fromEntries(Object.entries(part).sort(([a], [b]) => (a < b ? -1 : 1)))
      : part,
  );
}
