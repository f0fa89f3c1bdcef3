import { useId } from 'react';
import type {
  ChoiceSetting,
  Setting,
  SettingFields,
  SettingValue,
  SettingValues,
} from '../../src/finish/settings.ts';
import { FigureField } from './figure-field.tsx';

/** One of several words. */
export function ChoiceField({
  setting,
  value,
  label = setting.label,
  shortLabel,
  onChange,
}: {
  setting: ChoiceSetting;
  value: string;
  label?: string;
  shortLabel?: string;
  onChange: (value: string) => void;
}) {
  const id = useId();
  return (
    <div className="figure-field">
      <label htmlFor={id}>{shortLabel ?? label}</label>
      <select id={id} aria-label={label} value={value} onChange={(event) => onChange(event.target.value)}>
        {setting.choices.map((choice) => (
          <option key={choice} value={choice}>
            {choice}
          </option>
        ))}
      </select>
    </div>
  );
}

/** All settings of a part by what its kind says of them. */
export function SettingsFields({
  fields,
  values,
  of,
  onChange,
}: {
  fields: SettingFields;
  values: SettingValues;
  /** What they belong to, for those who hear the labels alone: 'the lows'. */
  of?: string;
  onChange: (values: SettingValues) => void;
}) {
  return (
    <div className="setting-fields">
      {Object.entries(fields).map(([name, setting]) => (
        <SettingField
          key={name}
          setting={setting}
          value={values[name] as SettingValue}
          of={of}
          onChange={(value) => onChange({ ...values, [name]: value })}
        />
      ))}
    </div>
  );
}

function SettingField({
  setting,
  value,
  of,
  onChange,
}: {
  setting: Setting;
  value: SettingValue;
  of: string | undefined;
  onChange: (value: SettingValue) => void;
}) {
  const named = of === undefined ? setting.label : `${setting.label}, ${of}`;
  switch (setting.kind) {
    case 'number':
      return (
        <FigureField
          setting={setting}
          value={Number(value)}
          label={named}
          shortLabel={setting.label}
          onChange={onChange}
        />
      );
    case 'choice':
      return (
        <ChoiceField
          setting={setting}
          value={String(value)}
          label={named}
          shortLabel={setting.label}
          onChange={onChange}
        />
      );
    case 'group':
      return (
        <fieldset className="group-fields">
          <legend>{setting.label}</legend>
          <SettingsFields
            fields={setting.of}
            values={value as SettingValues}
            of={setting.label}
            onChange={onChange}
          />
        </fieldset>
      );
    case 'list':
      // Only the equaliser has a list, and an editor of its own.
      return null;
  }
}
