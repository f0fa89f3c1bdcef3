import { useState } from 'react';
import { Checkbox, Form, Label, Radio, RadioGroup } from 'react-aria-components';
import type { Survival, SurviveRequest } from '../../src/server/api.ts';
import { useSurviveFormats } from '../api/queries.ts';
import { Box, FormatChoices } from './format-choices.tsx';

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
      <FormatChoices
        title="Formats it has to survive"
        formats={formats.data}
        ids={ids}
        onChange={setChosen}
      />
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
