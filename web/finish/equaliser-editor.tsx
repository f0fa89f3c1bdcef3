import { useRef, useState } from 'react';
import type { Chain } from '../../src/finish/chain.ts';
import { type Band, equaliserFields } from '../../src/finish/equaliser.ts';
import { readSettings } from '../../src/finish/settings.ts';
import { bandLine } from '../../src/judge/part-words.ts';
import { curvesOf, wholeCurve } from './curves.ts';
import { ChoiceField } from './fields.tsx';
import { FigureField } from './figure-field.tsx';
import { FrequencyPlot, reachOf, type Scale } from './frequency-plot.tsx';

const { of: fields, most } = equaliserFields.bands;
const isCut = ({ shape }: Band) => shape === 'low-cut' || shape === 'high-cut';
const hasQ = ({ shape }: Band) => shape === 'bell' || shape === 'low-shelf' || shape === 'high-shelf';

/** The equaliser: points to be drawn about on the plot, and the same bands as figures below it. */
export function EqualiserEditor({
  bands,
  chain,
  onChange,
}: {
  bands: readonly Band[];
  chain: Chain;
  onChange: (bands: readonly Band[]) => void;
}) {
  const [chosen, setChosen] = useState(0);
  const points = useRef<(HTMLDivElement | null)[]>([]);
  const curves = curvesOf(bands);
  const behind = wholeCurve(chain);
  // Wide enough for the highest point too, and no wider while one is dragged about.
  const reachDb = reachOf([
    ...curves.map(({ gainDb }) => gainDb.map((db) => Math.max(db, -12))),
    bands.map(({ gainDb }) => gainDb),
  ]);
  const change = (at: number, values: Partial<Band>) =>
    onChange(bands.with(at, readSettings(fields, { ...bands[at], ...tidy(values) }, 'a band')));
  const remove = (at: number) => {
    onChange(bands.toSpliced(at, 1));
    const next = Math.max(0, Math.min(at, bands.length - 2));
    setChosen(next);
    points.current[next]?.focus();
  };
  const add = (hertz: number, gainDb: number) => {
    if (bands.length >= most) return;
    onChange([...bands, readSettings(fields, tidy({ hertz, gainDb, q: 1 }), 'a band')]);
    setChosen(bands.length);
  };
  const band = bands[Math.min(chosen, bands.length - 1)];
  const at = Math.min(chosen, bands.length - 1);
  return (
    <div className="equaliser">
      <FrequencyPlot
        title="The equaliser: gain over frequency"
        reachDb={reachDb}
        curves={curves}
        behind={behind}
        onPoint={add}
      >
        {(scale) =>
          bands.map((each, i) => (
            <BandPoint
              // biome-ignore lint/suspicious/noArrayIndexKey: bands have no name but their number
              key={i}
              number={i + 1}
              band={each}
              scale={scale}
              chosen={i === at}
              point={(element) => {
                points.current[i] = element;
              }}
              onChoose={() => setChosen(i)}
              onChange={(values) => change(i, values)}
              onRemove={() => remove(i)}
            />
          ))
        }
      </FrequencyPlot>
      <p className="note">
        Draw a point about, or move it with the arrow keys (with Shift further); Page up and Page down make it
        narrower and wider, Delete removes it. A double press in the plot adds a band.
      </p>
      <div className="act-line">
        <button
          type="button"
          className="secondary"
          disabled={bands.length >= most}
          onClick={() => add(1000, 0)}
        >
          Add a band
        </button>
        {bands.length >= most && <span className="note">{most} bands are as many as there can be.</span>}
      </div>
      {bands.length > 0 && (
        <ol className="band-list">
          {bands.map((each, i) => (
            // biome-ignore lint/suspicious/noArrayIndexKey: bands have no name but their number
            <li key={i}>
              <button
                type="button"
                className="band-choice"
                aria-pressed={i === at}
                onClick={() => setChosen(i)}
              >
                <b className="num">{i + 1}</b> {bandLine(each)}
              </button>
            </li>
          ))}
        </ol>
      )}
      {band && (
        <fieldset className="band-fields">
          <legend>Band {at + 1}</legend>
          <ChoiceField
            setting={fields.shape}
            value={band.shape}
            label={`Shape of band ${at + 1}`}
            shortLabel="shape"
            onChange={(shape) => change(at, { shape: shape as Band['shape'] })}
          />
          <FigureField
            setting={fields.hertz}
            value={band.hertz}
            label={`Frequency of band ${at + 1}`}
            shortLabel="frequency"
            onChange={(hertz) => change(at, { hertz })}
          />
          {!isCut(band) && (
            <FigureField
              setting={fields.gainDb}
              value={band.gainDb}
              label={`Gain of band ${at + 1}`}
              shortLabel="gain"
              onChange={(gainDb) => change(at, { gainDb })}
            />
          )}
          {hasQ(band) && (
            <FigureField
              setting={fields.q}
              value={band.q}
              label={`Q of band ${at + 1}`}
              shortLabel="Q"
              onChange={(q) => change(at, { q })}
            />
          )}
          {isCut(band) && (
            <ChoiceField
              setting={fields.slope}
              value={band.slope}
              label={`Slope of band ${at + 1}`}
              shortLabel="slope, dB an octave"
              onChange={(slope) => change(at, { slope: slope as Band['slope'] })}
            />
          )}
          <ChoiceField
            setting={fields.on}
            value={band.on}
            label={`Channel of band ${at + 1}`}
            shortLabel="on"
            onChange={(on) => change(at, { on: on as Band['on'] })}
          />
          <ChoiceField
            setting={fields.phase}
            value={band.phase}
            label={`Phase of band ${at + 1}`}
            shortLabel="phase"
            onChange={(phase) => change(at, { phase: phase as Band['phase'] })}
          />
          <button type="button" className="plain" onClick={() => remove(at)}>
            Remove band {at + 1}
          </button>
        </fieldset>
      )}
    </div>
  );
}

/** Within the ranges and no finer than anyone would write. */
function tidy({ hertz, gainDb, q, ...rest }: Partial<Band>): Partial<Band> {
  const held = ({ lowest, highest }: { lowest: number; highest: number }, value: number) =>
    Math.min(highest, Math.max(lowest, value));
  return {
    ...rest,
    ...(hertz === undefined
      ? {}
      : { hertz: held(fields.hertz, hertz < 100 ? Number(hertz.toFixed(1)) : Math.round(hertz)) }),
    ...(gainDb === undefined ? {} : { gainDb: held(fields.gainDb, Number(gainDb.toFixed(2))) }),
    ...(q === undefined ? {} : { q: held(fields.q, Number(q.toFixed(2))) }),
  };
}

/** Steps of the keys: a quarter of a semitone and 0.1 dB; with Shift a third of an octave and 1 dB. */
const keySteps = { near: { octaves: 1 / 48, db: 0.1 }, far: { octaves: 1 / 3, db: 1 } } as const;

/** One band on the plot. */
function BandPoint({
  number,
  band,
  scale,
  chosen,
  point,
  onChoose,
  onChange,
  onRemove,
}: {
  number: number;
  band: Band;
  scale: Scale;
  chosen: boolean;
  point: (element: HTMLDivElement | null) => void;
  onChoose: () => void;
  onChange: (values: Partial<Band>) => void;
  onRemove: () => void;
}) {
  const { x, y } = scale;
  const drag = useRef<{ x: number; y: number } | null>(null);
  const cut = isCut(band);
  const at = { x: x(Math.max(20, band.hertz)), y: y(cut ? -3 : band.gainDb) };
  const onKeyDown = (event: React.KeyboardEvent) => {
    if (event.ctrlKey || event.metaKey || event.altKey) return;
    const { octaves, db } = event.shiftKey ? keySteps.far : keySteps.near;
    switch (event.key) {
      case 'ArrowLeft':
        onChange({ hertz: band.hertz * 2 ** -octaves });
        break;
      case 'ArrowRight':
        onChange({ hertz: band.hertz * 2 ** octaves });
        break;
      case 'ArrowUp':
        if (!cut) onChange({ gainDb: band.gainDb + db });
        break;
      case 'ArrowDown':
        if (!cut) onChange({ gainDb: band.gainDb - db });
        break;
      case 'PageUp':
        if (hasQ(band)) onChange({ q: band.q * 1.1 });
        break;
      case 'PageDown':
        if (hasQ(band)) onChange({ q: band.q / 1.1 });
        break;
      case 'Delete':
      case 'Backspace':
        onRemove();
        break;
      default:
        return;
    }
    event.preventDefault();
    event.stopPropagation();
  };
  return (
    <div
      ref={point}
      className={chosen ? 'band-point chosen' : 'band-point'}
      role="slider"
      tabIndex={0}
      aria-label={`Band ${number}`}
      aria-orientation="vertical"
      aria-valuemin={-24}
      aria-valuemax={24}
      aria-valuenow={band.gainDb}
      aria-valuetext={bandLine(band)}
      style={{ left: at.x, top: at.y }}
      onFocus={onChoose}
      onKeyDown={onKeyDown}
      onDoubleClick={(event) => event.stopPropagation()}
      onPointerDown={(event) => {
        event.currentTarget.setPointerCapture(event.pointerId);
        event.currentTarget.focus();
        drag.current = { x: event.clientX - at.x, y: event.clientY - at.y };
      }}
      onPointerMove={(event) => {
        if (!drag.current) return;
        const hertz = scale.hertzAt(event.clientX - drag.current.x);
        onChange(cut ? { hertz } : { hertz, gainDb: scale.gainAt(event.clientY - drag.current.y) });
      }}
      onPointerUp={() => {
        drag.current = null;
      }}
      onPointerCancel={() => {
        drag.current = null;
      }}
    >
      {number}
    </div>
  );
}
