import { type Chain, kindOf } from './chain.ts';
import type { Setting, SettingFields, SettingValue, SettingValues } from './settings.ts';

/** What makes one chain another, a sentence each, in the order of the new chain. Nothing for equal chains. */
export function chainChanges(before: Chain, after: Chain): string[] {
  const was = new Map(before.parts.map((part) => [part.id, part]));
  const is = new Set(after.parts.map(({ id }) => id));
  const kept = before.parts.filter(({ id }) => is.has(id)).map(({ id }) => id);
  const order = after.parts.filter(({ id }) => was.has(id)).map(({ id }) => id);
  const moved = movedIds(kept, order);
  const words = before.parts
    .filter(({ id }) => !is.has(id))
    .map(({ kind }) => `removed ${kindOf(kind).name}`);
  after.parts.forEach(({ id, kind, bypassed, settings }, place) => {
    const { name, fields } = kindOf(kind);
    const old = was.get(id);
    if (!old || old.kind !== kind) {
      words.push(`added ${name} as number ${place + 1}${bypassed ? ', bypassed' : ''}`);
      return;
    }
    if (moved.has(id)) words.push(`moved ${name} to number ${place + 1}`);
    if (old.bypassed !== bypassed) words.push(bypassed ? `bypassed ${name}` : `put ${name} back in`);
    for (const change of settingChanges(fields, old.settings, settings)) words.push(`${name}: ${change}`);
  });
  return words;
}

/** Fewest parts whose moving makes one order the other: those outside a longest common subsequence. */
function movedIds(before: readonly string[], after: readonly string[]): Set<string> {
  const lengths = Array.from({ length: before.length + 1 }, () =>
    new Array<number>(after.length + 1).fill(0),
  );
  for (let i = before.length - 1; i >= 0; i--)
    for (let j = after.length - 1; j >= 0; j--)
      lengths[i][j] =
        before[i] === after[j] ? lengths[i + 1][j + 1] + 1 : Math.max(lengths[i + 1][j], lengths[i][j + 1]);
  const moved = new Set(after);
  for (let i = 0, j = 0; i < before.length && j < after.length; ) {
    if (before[i] === after[j]) {
      moved.delete(after[j]);
      i++;
      j++;
    } else if (lengths[i + 1][j] >= lengths[i][j + 1]) i++;
    else j++;
  }
  return moved;
}

function settingChanges(fields: SettingFields, before: SettingValues, after: SettingValues): string[] {
  return Object.entries(fields).flatMap(([name, setting]) =>
    settingChange(setting, before[name], after[name]),
  );
}

function settingChange(setting: Setting, before: SettingValue, after: SettingValue): string[] {
  switch (setting.kind) {
    case 'group':
      return settingChanges(setting.of, before as SettingValues, after as SettingValues).map(
        (change) => `${setting.label}, ${change}`,
      );
    case 'list': {
      const old = before as readonly SettingValues[];
      const now = after as readonly SettingValues[];
      const changes = now.flatMap((each, i) =>
        i < old.length
          ? settingChanges(setting.of, old[i], each).map((change) => `${setting.label} ${i + 1}, ${change}`)
          : [`added ${setting.label} ${i + 1} (${summary(setting.of, each)})`],
      );
      for (let i = now.length; i < old.length; i++) changes.push(`removed ${setting.label} ${i + 1}`);
      return changes;
    }
    default:
      return before === after
        ? []
        : [`${setting.label} ${shown(setting, before)} → ${shown(setting, after)}`];
  }
}

function summary(fields: SettingFields, values: SettingValues): string {
  return Object.entries(fields)
    .map(([name, setting]) => shown(setting, values[name]))
    .join(', ');
}

function shown(setting: Setting, value: SettingValue): string {
  if (setting.kind !== 'number') return String(value);
  const number = String(value).replace('-', '−');
  if (setting.unit === '') return number;
  if (setting.unit === 'Q') return `Q ${number}`;
  return setting.unit === ':1' ? `${number}:1` : `${number} ${setting.unit}`;
}
