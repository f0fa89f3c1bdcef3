import { type Chain, type ChainPart, changePart, kindOf } from '../../src/finish/chain.ts';
import type { Band } from '../../src/finish/equaliser.ts';
import type { SettingFields, SettingValues } from '../../src/finish/settings.ts';
import { DynamicsCurve } from './dynamics-curve.tsx';
import { EqualiserEditor } from './equaliser-editor.tsx';
import { SettingsFields } from './fields.tsx';
import { kindTitle } from './parts-list.tsx';
import { ReductionView } from './reduction-view.tsx';
import { WidthEditor } from './width-editor.tsx';

type Dynamics = Parameters<typeof DynamicsCurve>[0]['settings'];

/** Everything that can be set of one part, with a drawing where one sees more than one reads. */
export function PartEditor({
  part,
  chain,
  kept,
  versionId,
  seconds,
  onChange,
}: {
  part: ChainPart;
  chain: Chain;
  /** The chain as it is kept. */
  kept: Chain;
  versionId: string;
  seconds: number;
  onChange: (chain: Chain) => void;
}) {
  const { fields } = kindOf(part.kind);
  const { settings } = part;
  const set = (values: object) => onChange(changePart(chain, part.id, values));
  const all = (
    <SettingsFields fields={fields as SettingFields} values={settings} onChange={(values) => set(values)} />
  );
  const look = <ReductionView versionId={versionId} chain={kept} partId={part.id} seconds={seconds} />;
  return (
    <section className="part-editor" aria-label={`Settings of ${kindOf(part.kind).name}`}>
      <h3>
        {kindTitle(part.kind)}
        {part.bypassed && <span className="note"> bypassed: it is passed by, not removed</span>}
      </h3>
      {part.kind === 'equaliser' ? (
        <EqualiserEditor
          bands={settings.bands as readonly Band[]}
          chain={chain}
          onChange={(bands) => set({ bands })}
        />
      ) : part.kind === 'width' ? (
        <WidthEditor settings={settings as Record<string, number>} onChange={set} />
      ) : part.kind === 'compressor' ? (
        <>
          <div className="with-curve">
            {all}
            <DynamicsCurve
              title="The compressor: level out over level in"
              settings={settings as unknown as Dynamics}
            />
          </div>
          {look}
        </>
      ) : part.kind === 'multiband' ? (
        <MultibandEditor settings={settings} fields={fields as SettingFields} onChange={set} />
      ) : part.kind === 'limiter' ? (
        <>
          {all}
          {look}
        </>
      ) : (
        all
      )}
      {part.kind === 'rate' && (
        <p className="note">Heard live, it passes everything: your sound device has a rate of its own.</p>
      )}
      {part.kind === 'fades' && (
        <p className="note">The end counts from the beginning of the file; 0 s: no fade-out.</p>
      )}
    </section>
  );
}

const bandNames = ['low', 'middle', 'high'] as const;

function MultibandEditor({
  settings,
  fields,
  onChange,
}: {
  settings: SettingValues;
  fields: SettingFields;
  onChange: (values: SettingValues) => void;
}) {
  const { low, middle, high, ...splits } = fields;
  const groups = { low, middle, high };
  return (
    <>
      <SettingsFields fields={splits} values={settings} onChange={onChange} />
      {bandNames.map((name) => {
        const setting = groups[name];
        if (setting?.kind !== 'group') return null;
        const values = settings[name] as SettingValues;
        return (
          <fieldset key={name} className="group-fields">
            <legend>The {setting.label}</legend>
            <div className="with-curve">
              <SettingsFields
                fields={setting.of}
                values={values}
                of={setting.label}
                onChange={(next) => onChange({ ...settings, [name]: next })}
              />
              <DynamicsCurve
                title={`The ${setting.label}: level out over level in`}
                settings={values as unknown as Dynamics}
              />
            </div>
          </fieldset>
        );
      })}
    </>
  );
}
