import { useId } from 'react';

/** One figure to type, with its unit and, below it, what is wrong with it or what it means. */
export function FigureField({
  label,
  unit,
  value,
  error,
  hint,
  wide = false,
  onChange,
}: {
  label: string;
  unit?: string;
  value: string;
  error?: string | undefined;
  hint?: string;
  /** For words instead of a figure. */
  wide?: boolean;
  onChange: (value: string) => void;
}) {
  const id = useId();
  return (
    <div className="field">
      <label htmlFor={id}>{label}</label>
      <span className="field-line">
        <input
          id={id}
          className={wide ? 'wide' : 'num'}
          type="text"
          inputMode={wide ? 'text' : 'decimal'}
          autoComplete="off"
          value={value}
          aria-invalid={error !== undefined}
          aria-describedby={error || hint ? `${id}-says` : undefined}
          onChange={(event) => onChange(event.target.value)}
        />
        {unit}
      </span>
      {(error || hint) && (
        <span id={`${id}-says`} className={error ? 'field-error' : 'note'}>
          {error ?? hint}
        </span>
      )}
    </div>
  );
}
