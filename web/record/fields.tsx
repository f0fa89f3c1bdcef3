import { type ReactNode, useEffect, useState } from 'react';

/** A field whose text is kept when it is left, or with Enter; Escape takes it back. */
export function TextField({
  label,
  value,
  note,
  onChange,
}: {
  label: string;
  value: string;
  note?: string;
  onChange: (text: string) => void;
}) {
  const [draft, setDraft] = useState(value);
  useEffect(() => setDraft(value), [value]);
  return (
    <Labelled label={label} note={note}>
      <input
        maxLength={400}
        value={draft}
        onChange={(event) => setDraft(event.target.value)}
        onBlur={() => draft !== value && onChange(draft)}
        onKeyDown={(event) => {
          if (event.key === 'Enter') event.currentTarget.blur();
          if (event.key === 'Escape') setDraft(value);
        }}
      />
    </Labelled>
  );
}

/** A number with its unit, within bounds; kept like a text. */
export function NumberField({
  label,
  unit,
  value,
  most,
  least = 0,
  step = 0.1,
  onChange,
}: {
  label: string;
  unit: string;
  value: number;
  most: number;
  least?: number;
  step?: number;
  onChange: (value: number) => void;
}) {
  const [draft, setDraft] = useState(String(value));
  useEffect(() => setDraft(String(value)), [value]);
  const keep = () => {
    const number = Number(draft.replace(',', '.'));
    if (draft.trim() === '' || !Number.isFinite(number)) setDraft(String(value));
    else if (number !== value) onChange(Math.min(most, Math.max(least, number)));
  };
  return (
    <Labelled label={`${label}, ${unit}`}>
      <input
        type="number"
        className="num"
        {...{ step, min: least, max: most }}
        value={draft}
        onChange={(event) => setDraft(event.target.value)}
        onBlur={keep}
        onKeyDown={(event) => event.key === 'Enter' && keep()}
      />
    </Labelled>
  );
}

/** One of a few words. */
export function ChoiceField<Choice extends string>({
  label,
  value,
  choices,
  onChange,
}: {
  label: string;
  value: Choice;
  choices: Readonly<Record<Choice, string>>;
  onChange: (value: Choice) => void;
}) {
  return (
    <Labelled label={label}>
      <select value={value} onChange={(event) => onChange(event.target.value as Choice)}>
        {(Object.entries(choices) as [Choice, string][]).map(([id, word]) => (
          <option key={id} value={id}>
            {word}
          </option>
        ))}
      </select>
    </Labelled>
  );
}

function Labelled({ label, note, children }: { label: string; note?: string; children: ReactNode }) {
  return (
    // biome-ignore lint/a11y/noLabelWithoutControl: the control is its child
    <label>
      {label}
      {children}
      {note && <span className="note">{note}</span>}
    </label>
  );
}
