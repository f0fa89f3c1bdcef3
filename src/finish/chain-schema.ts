import { chainVersion, mostParts } from './chain.ts';
import { partKinds } from './kinds.ts';
import type { PartKind } from './part.ts';
import type { Setting, SettingFields } from './settings.ts';

type Json = { readonly [key: string]: unknown };

/** JSON Schema (draft 2020-12) of a chain, made from the definitions that `readChain` reads with: it allows what that allows. */
export function chainJsonSchema(): Json {
  return {
    $schema: 'https://json-schema.org/draft/2020-12/schema',
    title: 'Everyroom finishing chain',
    description: 'Parts that a sound goes through, in order. Settings that are left out take their defaults.',
    type: 'object',
    properties: {
      version: { const: chainVersion },
      parts: {
        type: 'array',
        maxItems: mostParts,
        items: { oneOf: partKinds.map((kind) => partSchema(kind as never)) },
      },
    },
    required: ['version', 'parts'],
    additionalProperties: false,
  };
}

function partSchema({ id, name, fields }: PartKind): Json {
  return {
    title: name,
    type: 'object',
    properties: {
      id: {
        description: 'Tells it from the others; made up when left out.',
        type: 'string',
        minLength: 1,
        maxLength: 60,
      },
      kind: { const: id },
      bypassed: { description: 'Passed by, but as late as it would be.', type: 'boolean', default: false },
      settings: { ...groupSchema(fields), type: ['object', 'null'] },
    },
    required: ['kind'],
    additionalProperties: false,
  };
}

function groupSchema(fields: SettingFields): Json {
  return {
    type: 'object',
    properties: Object.fromEntries(
      Object.entries(fields).map(([name, setting]) => [name, settingSchema(setting)]),
    ),
    additionalProperties: false,
  };
}

function settingSchema(setting: Setting): Json {
  switch (setting.kind) {
    case 'number': {
      const { label, unit, lowest, highest, whole } = setting;
      return {
        description: unit === '' ? label : `${label}, ${unit}`,
        type: whole ? 'integer' : 'number',
        minimum: lowest,
        maximum: highest,
        default: setting.default,
      };
    }
    case 'choice':
      return { description: setting.label, enum: setting.choices, default: setting.default };
    case 'group':
      return { description: setting.label, ...groupSchema(setting.of), type: ['object', 'null'] };
    case 'list':
      return {
        description: setting.label,
        type: ['array', 'null'],
        maxItems: setting.most,
        items: { ...groupSchema(setting.of), type: ['object', 'null'] },
      };
  }
}
