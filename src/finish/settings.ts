import { CodedError } from '../audio/coded-error.ts';

/** A number a person sets, in a physical unit. */
export interface NumberSetting {
  readonly kind: 'number';
  readonly label: string;
  readonly unit: 'dB' | 'dBFS' | 'dBTP' | 'Hz' | 's' | 'ms' | ':1' | '%' | 'Q' | 'bit' | '';
  readonly lowest: number;
  readonly highest: number;
  readonly default: number;
  /** Only whole numbers. */
  readonly whole?: boolean;
}

/** One of several words. */
export interface ChoiceSetting {
  readonly kind: 'choice';
  readonly label: string;
  readonly choices: readonly string[];
  readonly default: string;
}

/** Several settings under one name. */
export interface GroupSetting {
  readonly kind: 'group';
  readonly label: string;
  readonly of: SettingFields;
}

/** Up to `most` groups of settings, none at first. */
export interface ListSetting {
  readonly kind: 'list';
  readonly label: string;
  readonly most: number;
  readonly of: SettingFields;
}

export type Setting = NumberSetting | ChoiceSetting | GroupSetting | ListSetting;
export type SettingFields = { readonly [name: string]: Setting };

/** The values that settings describe. */
export type ValuesOf<Fields extends SettingFields> = {
  readonly [Name in keyof Fields]: ValueOf<Fields[Name]>;
};
type ValueOf<S extends Setting> = S extends NumberSetting
  ? number
  : S extends { kind: 'choice'; choices: readonly (infer Choice)[] }
    ? Choice
    : S extends { kind: 'group'; of: infer Fields extends SettingFields }
      ? ValuesOf<Fields>
      : S extends { kind: 'list'; of: infer Fields extends SettingFields }
        ? readonly ValuesOf<Fields>[]
        : never;

/** Values as plain data: what a chain keeps. */
export type SettingValue = number | string | SettingValues | readonly SettingValues[];
export type SettingValues = { readonly [name: string]: SettingValue };

/**
 * Plain data as full settings: what is left out takes its default. Throws CHAIN_INVALID naming the setting when a name is
 * unknown, a number is no finite number or lies outside its range, or a word is not one of the choices.
 *
 * @param where what the settings belong to, as the sentence names it
 */
export function readSettings<Fields extends SettingFields>(
  fields: Fields,
  data: unknown,
  where: string,
): ValuesOf<Fields> {
  const given = data ?? {};
  if (typeof given !== 'object' || Array.isArray(given))
    refuse(`The settings of ${where} must be an object.`);
  const unknown = Object.keys(given).find((name) => !Object.hasOwn(fields, name));
  if (unknown !== undefined)
    refuse(`${capital(where)} has no setting “${unknown}”; it has ${Object.keys(fields).join(', ')}.`);
  const entries = Object.entries(fields).map(([name, setting]) => [
    name,
    readSetting(setting, (given as Record<string, unknown>)[name], where),
  ]);
  return Object.fromEntries(entries) as ValuesOf<Fields>;
}

function readSetting(setting: Setting, value: unknown, where: string): SettingValue {
  const name = `${setting.label} of ${where}`;
  switch (setting.kind) {
    case 'number':
      return value === undefined ? setting.default : readNumber(setting, value, name);
    case 'choice':
      if (value === undefined) return setting.default;
      if (typeof value !== 'string' || !setting.choices.includes(value))
        refuse(`The ${name} is one of ${setting.choices.join(', ')}, not ${shown(value)}.`);
      return value;
    case 'group':
      return readSettings(setting.of, value, name);
    case 'list': {
      const list = value ?? [];
      if (!Array.isArray(list) || list.length > setting.most)
        refuse(`The ${name} must be a list of at most ${setting.most}.`);
      return list.map((each, i) => readSettings(setting.of, each, `${setting.label} ${i + 1} of ${where}`));
    }
  }
}

function readNumber({ unit, lowest, highest, whole }: NumberSetting, value: unknown, name: string): number {
  const inRange = typeof value === 'number' && value >= lowest && value <= highest;
  if (!inRange || (whole && !Number.isInteger(value))) {
    const range = `${lowest} to ${highest}${unit === '' ? '' : ` ${unit}`}`;
    refuse(`The ${name} is a ${whole ? 'whole ' : ''}number from ${range}, not ${shown(value)}.`);
  }
  // -0 and 0 would be two chains.
  return value === 0 ? 0 : value;
}

function refuse(sentence: string): never {
  throw new CodedError('CHAIN_INVALID', sentence);
}

function shown(value: unknown): string {
  return typeof value === 'number' ? String(value) : (JSON.stringify(value) ?? 'nothing').slice(0, 60);
}

function capital(text: string): string {
  return text.charAt(0).toUpperCase() + text.slice(1);
}
