import { useState } from 'react';
import { Checkbox, CheckboxGroup, Form, Label, Radio, RadioGroup } from 'react-aria-components';
import type { Survival, SurviveFormat, SurviveRequest } from '../../src/server/api.ts';
import { useSurviveFormats } from '../api/queries.ts';

const groups: readonly { title: string; has: (format: SurviveFormat) => boolean }[] = [
  { title: 'AAC', has: ({ codec, inSeries }) => codec === 'aac' && !inSeries },
  { title: 'MP3', has: ({ codec, inSeries }) => codec === 'mp3' && !inSeries },
  { title: 'Vorbis', has: ({ codec, inSeries }) => codec === 'vorbis' && !inSeries },
  { title: 'Opus', has: ({ codec, inSeries }) => codec === 'opus' && !inSeries },
  { title: 'Wireless', has: ({ codec, inSeries }) => codec === 'sbc' || inSeries },
];

const limits = [
  { value: 0, label: '0 dBTP', note: 'nothing above full scale' },
  { value: -1, label: '−1 dBTP', note: 'with room for the player, the usual ask' },
];

/** Which formats, under which limit, and whether the ceiling is to be found. */
export function Choices({
  settings,
  pending,
  error,
  onRun,
}: {
  settings: Survival['settings'];
  pending: boolean;
  error: Error | null;
  onRun: (request: SurviveRequest) => void;
}) {
  const formats = useSurviveFormats();
  const [chosen, setChosen] = useState<string[] | null>(settings?.formatIds ?? null);
  const [limit, setLimit] = useState(settings?.limitDbtp ?? 0);
  const [find, setFind] = useState(settings?.findCeiling ?? true);
  if (!formats.data)
    return <p className="note">{formats.isError ? formats.error.message : 'Reading the formats…'}</p>;
  const all = formats.data.map(({ id }) => id);
  const ids = chosen ?? all;
  return (
    <Form
      className="choices"
      onSubmit={(event) => {
        event.preventDefault();
        onRun({ formatIds: ids, limitDbtp: limit, findCeiling: find });
      }}
    >
      <CheckboxGroup value={ids} onChange={setChosen} className="format-choices">
        <Label className="choice-title">Formats it has to survive</Label>
        <div className="choice-groups">
          {groups.map(({ title, has }) => (
            <div key={title} className="choice-column">
              {formats.data.filter(has).map(({ id, label }) => (
                <Checkbox key={id} value={id} className="check">
                  <Box /> {label}
                </Checkbox>
              ))}
            </div>
          ))}
        </div>
        <p className="choice-tools">
          <button type="button" className="plain" onClick={() => setChosen(all)}>
            All
          </button>
          <button type="button" className="plain" onClick={() => setChosen([])}>
            None
          </button>
        </p>
      </CheckboxGroup>
      <div className="choice-row">
        <RadioGroup value={String(limit)} onChange={(value) => setLimit(Number(value))} className="limit">
          <Label className="choice-title">Highest level after decoding</Label>
          {limits.map(({ value, label, note }) => (
            <Radio key={value} value={String(value)} className="check">
              <i className="dot" aria-hidden="true" />
              <span>
                {label}, <span className="note">{note}</span>
              </span>
            </Radio>
          ))}
        </RadioGroup>
        <Checkbox isSelected={find} onChange={setFind} className="check">
          <Box />
          <span>
            Find the ceiling, <span className="note">with further encodes of each format</span>
          </span>
        </Checkbox>
      </div>
      <p className="choice-row">
        <button type="submit" className="primary" disabled={pending || ids.length === 0}>
          Code it and measure
        </button>
        {ids.length === 0 && <span className="note">Choose at least one format.</span>}
        {error && <span className="sentence">{error.message}</span>}
      </p>
    </Form>
  );
}

export function Box() {
  return (
    <svg className="box" viewBox="0 0 16 16" width="16" height="16" aria-hidden="true">
      <path d="M1.5 1.5h13v13h-13Z" fill="none" stroke="currentColor" strokeWidth="1.25" />
      <path className="tick" d="M3.5 8.5 6.5 12 12.5 4" fill="none" stroke="currentColor" strokeWidth="2" />
    </svg>
  );
}
