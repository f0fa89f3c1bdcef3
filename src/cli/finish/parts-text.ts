import { partKinds } from '../../finish/kinds.ts';
import type { PartKind } from '../../finish/part.ts';
import type { Setting, SettingFields } from '../../finish/settings.ts';
import { sentenceCase } from '../../judge/wording.ts';
import type { Style } from '../terminal/style.ts';
import { table } from '../terminal/table.ts';

/** Every part with its settings, ranges, units and defaults, as readChain reads them. */
export function partsText(style: Style): string {
  return `${partKinds.map((kind) => partText(kind as unknown as PartKind, style)).join('\n\n')}\n`;
}

function partText({ id, name, fields }: PartKind, style: Style): string {
  const rows = rowsOf(fields, '');
  const [, ...lines] = table(
    ['', '', '', ''].map((head) => ({ head, align: 'left' as const })),
    rows,
  );
  const title = sentenceCase(name.replace(/^the /, ''));
  return [`${style.strong(id)}  ${style.quiet(title)}`, ...lines.map((line) => `  ${line}`)].join('\n');
}

function rowsOf(fields: SettingFields, within: string): string[][] {
  return Object.entries(fields).flatMap(([name, setting]) => rowOf(`${within}${name}`, setting));
}

function rowOf(path: string, setting: Setting): string[][] {
  switch (setting.kind) {
    case 'number': {
      const { lowest, highest, unit, whole } = setting;
      const range = `${minus(lowest)} to ${minus(highest)}${unit === '' || unit === 'Q' ? '' : ` ${unit}`}`;
      return [[path, whole ? `${range}, whole` : range, given(setting.default), setting.label]];
    }
    case 'choice':
      return [[path, setting.choices.join(' | '), given(setting.default), setting.label]];
    case 'group':
      return rowsOf(setting.of, `${path}.`);
    case 'list':
      return [
        [`${path}[]`, `a list of at most ${setting.most}`, 'none', setting.label],
        ...rowsOf(setting.of, `${path}[].`),
      ];
  }
}

const minus = (value: number): string => String(value).replace('-', '−');
const given = (value: number | string): string =>
  `default ${typeof value === 'number' ? minus(Math.round(value * 1000) / 1000) : value}`;
