import { useId, useRef, useState } from 'react';
import type { NumberSetting } from '../../src/finish/settings.ts';
import { figure } from '../words/figures.ts';

/** A number that can be set: one of a part's settings, or a goal of the finishing. */
interface FigureSetting extends Pick<NumberSetting, 'label' | 'lowest' | 'highest' | 'whole'> {
  readonly unit: NumberSetting['unit'] | 'LUFS';
}

/** Integrated loudness of a file. */
export const lufs: FigureSetting = { label: 'loudness', unit: 'LUFS', lowest: -40, highest: -3 };

/** Decimals of a value as it is written: what a person would write. */
function decimalsOf(value: number, { unit, whole }: FigureSetting): number {
  if (whole) return 0;
  if (unit === 'Hz') return value < 100 && !Number.isInteger(value) ? 1 : 0;
  if (unit === 'Q' || unit === 's') return 2;
  if (unit === '%' || unit === 'bit') return 0;
  return Number.isInteger(value * 10) ? 1 : 2;
}

/** What one press changes: frequencies and times by a share of what they are, all else by a fixed amount. */
function stepOf(value: number, setting: FigureSetting, far: boolean): number {
  const by = far ? 10 : 1;
  switch (setting.unit) {
    case 'Hz':
      return by * (value < 100 ? 1 : value < 1000 ? 5 : value < 5000 ? 50 : 200);
    case 'ms':
      return by * (value < 10 ? 0.1 : value < 100 ? 1 : 10);
    case 'Q':
      return by * (value < 1 ? 0.05 : 0.1);
    case 's':
      return by * 0.1;
    case '%':
    case '':
      return by;
    default:
      return by * 0.1;
  }
}

/** What was typed as a number: a comma is a point, 'k' a thousand, a minus may be a true one. null: no number. */
export function numberFrom(text: string): number | null {
  const match = /^\s*([−+-]?)\s*(\d*[.,]?\d+)\s*(k?)\s*[a-z%:]*\d*\s*$/i.exec(text);
  if (!match) return null;
  const value = Number((match[2] ?? '').replace(',', '.')) * (match[3] ? 1000 : 1);
  return match[1] === '−' || match[1] === '-' ? -value : value;
}

const shownUnit = (unit: FigureSetting['unit']) => (unit === 'Q' ? '' : unit);

/** A number with its unit: written, or stepped with the buttons and the arrow keys (with Shift ten times as far). */
export function FigureField({
  setting,
  value,
  label = setting.label,
  shortLabel,
  onChange,
}: {
  setting: FigureSetting;
  value: number;
  /** As it is read out. */
  label?: string;
  /** As it is shown, where the place says the rest; `label` when left out. */
  shortLabel?: string;
  onChange: (value: number) => void;
}) {
  const id = useId();
  const [text, setText] = useState<string | null>(null);
  const [refused, setRefused] = useState(false);
  const field = useRef<HTMLInputElement>(null);
  const { lowest, highest } = setting;
  const unit = shownUnit(setting.unit);
  const shown = figure(value, decimalsOf(value, setting));

  const put = (next: number) => {
    const tidy = Number(next.toFixed(setting.whole ? 0 : 3));
    onChange(Math.min(highest, Math.max(lowest, tidy)));
  };
  const step = (direction: -1 | 1, far: boolean) => {
    setText(null);
    setRefused(false);
    put(value + direction * stepOf(direction < 0 ? value - 1e-9 : value, setting, far));
  };
  const finish = () => {
    if (text === null) return;
    const next = numberFrom(text);
    if (next === null || next < lowest || next > highest) return setRefused(true);
    setRefused(false);
    setText(null);
    if (next !== value) put(next);
  };
  return (
    <div className="figure-field">
      <label htmlFor={id}>{shortLabel ?? label}</label>
      <span className="figure-row">
        <button
          type="button"
          className="stepper"
          tabIndex={-1}
          aria-label={`Less ${label}`}
          disabled={value <= lowest}
          onClick={(event) => step(-1, event.shiftKey)}
        >
          −
        </button>
        <input
          ref={field}
          id={id}
          className="num"
          inputMode="decimal"
          autoComplete="off"
          role="spinbutton"
          aria-label={label}
          aria-valuenow={value}
          aria-valuemin={lowest}
          aria-valuemax={highest}
          aria-valuetext={`${shown} ${unit}`}
          data-draft={text === null ? undefined : true}
          aria-invalid={refused}
          aria-describedby={refused ? `${id}-why` : undefined}
          value={text ?? shown}
          onFocus={(event) => event.target.select()}
          onChange={(event) => setText(event.target.value)}
          onBlur={finish}
          onKeyDown={(event) => {
            if (event.ctrlKey || event.metaKey || event.altKey) return;
            if (event.key === 'Enter') finish();
            else if (event.key === 'Escape' && text !== null) {
              setText(null);
              setRefused(false);
            } else if (event.key === 'ArrowUp' || event.key === 'ArrowDown')
              step(event.key === 'ArrowUp' ? 1 : -1, event.shiftKey);
            else if (event.key === 'PageUp' || event.key === 'PageDown')
              step(event.key === 'PageUp' ? 1 : -1, true);
            else return;
            event.preventDefault();
          }}
        />
        <button
          type="button"
          className="stepper"
          tabIndex={-1}
          aria-label={`More ${label}`}
          disabled={value >= highest}
          onClick={(event) => step(1, event.shiftKey)}
        >
          +
        </button>
        {unit !== '' && <span className="unit">{unit}</span>}
      </span>
      {refused && (
        <span id={`${id}-why`} className="refused" role="alert">
          From {figure(lowest, decimalsOf(lowest, setting))} to{' '}
          {figure(highest, decimalsOf(highest, setting))}
          {unit === '' ? '' : ` ${unit}`}.
        </span>
      )}
    </div>
  );
}
