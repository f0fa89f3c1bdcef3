import { Checkbox, CheckboxGroup, Label } from 'react-aria-components';
import type { SurviveFormat } from '../../src/server/api.ts';

const groups: readonly { title: string; has: (format: SurviveFormat) => boolean }[] = [
  { title: 'AAC', has: ({ codec, inSeries }) => codec === 'aac' && !inSeries },
  { title: 'MP3', has: ({ codec, inSeries }) => codec === 'mp3' && !inSeries },
  { title: 'Vorbis', has: ({ codec, inSeries }) => codec === 'vorbis' && !inSeries },
  { title: 'Opus', has: ({ codec, inSeries }) => codec === 'opus' && !inSeries },
  { title: 'Wireless', has: ({ codec, inSeries }) => codec === 'sbc' || inSeries },
];

/** Which formats, all or none of them by one press. */
export function FormatChoices({
  title,
  formats,
  ids,
  onChange,
}: {
  title: string;
  formats: readonly SurviveFormat[];
  ids: readonly string[];
  onChange: (ids: string[]) => void;
}) {
  return (
    <CheckboxGroup value={[...ids]} onChange={onChange} className="format-choices">
      <Label className="choice-title">{title}</Label>
      <div className="choice-groups">
        {groups.map(({ title: codec, has }) => (
          <div key={codec} className="choice-column">
            {formats.filter(has).map(({ id, label }) => (
              <Checkbox key={id} value={id} className="check">
                <Box /> {label}
              </Checkbox>
            ))}
          </div>
        ))}
      </div>
      <p className="choice-tools">
        <button type="button" className="plain" onClick={() => onChange(formats.map(({ id }) => id))}>
          All
        </button>
        <button type="button" className="plain" onClick={() => onChange([])}>
          None
        </button>
      </p>
    </CheckboxGroup>
  );
}

/** A box that is ticked or not. */
export function Box() {
  return (
    <svg className="box" viewBox="0 0 16 16" width="16" height="16" aria-hidden="true">
      <path d="M1.5 1.5h13v13h-13Z" fill="none" stroke="currentColor" strokeWidth="1.25" />
      <path className="tick" d="M3.5 8.5 6.5 12 12.5 4" fill="none" stroke="currentColor" strokeWidth="2" />
    </svg>
  );
}
