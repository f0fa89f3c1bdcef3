import { width } from '../../src/finish/width.ts';
import { hertz } from '../words/figures.ts';
import { FigureField } from './figure-field.tsx';

/** Width by band as three sliders under each other, from mono to twice as wide, and where the bands meet. */
export function WidthEditor({
  settings,
  onChange,
}: {
  settings: Record<string, number>;
  onChange: (values: Record<string, number>) => void;
}) {
  const { fields } = width;
  const value = (name: keyof typeof fields) => settings[name] ?? 0;
  const bands = [
    { name: 'lowPercent', title: `Lows, below ${hertz(value('lowSplitHertz'))} Hz` },
    { name: 'middlePercent', title: 'Middle' },
    { name: 'highPercent', title: `Highs, above ${hertz(value('highSplitHertz'))} Hz` },
  ] as const;
  return (
    <>
      <div className="width-bands">
        {bands.map(({ name, title }) => (
          <div key={name} className="width-band">
            <span aria-hidden="true">{title}</span>
            <input
              type="range"
              min={0}
              max={200}
              step={1}
              value={value(name)}
              aria-label={`${title}: width`}
              aria-valuetext={widthWords(value(name))}
              onChange={(event) => onChange({ [name]: Number(event.target.value) })}
            />
            <FigureField
              setting={fields[name]}
              value={value(name)}
              shortLabel=" "
              onChange={(next) => onChange({ [name]: next })}
            />
            <span className="note">{widthWords(value(name))}</span>
          </div>
        ))}
      </div>
      <div className="setting-fields">
        {(['monoBelowHertz', 'lowSplitHertz', 'highSplitHertz'] as const).map((name) => (
          <FigureField
            key={name}
            setting={fields[name]}
            value={value(name)}
            onChange={(next) => onChange({ [name]: next })}
          />
        ))}
      </div>
    </>
  );
}

function widthWords(percent: number): string {
  if (percent === 0) return 'mono';
  if (percent === 100) return 'as it is';
  return percent < 100 ? 'narrower' : 'wider';
}
