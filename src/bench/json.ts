/**
 * JSON text that reads back as the same value. JSON.stringify would quietly write null for NaN and infinity and an
 * object for a typed array; a figure that got lost that way would look like 'does not exist', so here it throws.
 */
export function exactJson(value: unknown): string {
  return JSON.stringify(value, (key, part: unknown) => {
    if (typeof part === 'number' && !Number.isFinite(part)) throw new TypeError(`'${key}' is ${part}`);
    if (ArrayBuffer.isView(part)) throw new TypeError(`'${key}' is a typed array`);
    return part;
  });
}

/** As exactJson, with the members of every object in order of their names: equal options give equal text. */
export function keyJson(value: unknown): string {
  return JSON.stringify(JSON.parse(exactJson(value)), (_key, part: unknown) =>
    part !== null && typeof part === 'object' && !Array.isArray(part)
      ? Object.fromEntries(Object.entries(part).sort(([a], [b]) => (a < b ? -1 : 1)))
      : part,
  );
}
