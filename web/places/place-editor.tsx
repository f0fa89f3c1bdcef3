import { useState } from 'react';
import { Checkbox } from 'react-aria-components';
import type { PlaceEntry } from '../../src/server/places-api.ts';
import { FigureField } from '../parts/figure-field.tsx';
import { Box } from '../survive/choices.tsx';
import { CurveEditor } from './curve-editor.tsx';
import { LayoutFields } from './layout-fields.tsx';
import { draftOf, type EditedPlace, type PlaceDraft, placeOf } from './place-draft.ts';

/** All figures of a place to be typed; nothing is saved while one of them cannot be. */
export function PlaceEditor({
  entry,
  pending,
  onSave,
  onCancel,
}: {
  entry: PlaceEntry;
  pending: boolean;
  onSave: (place: EditedPlace) => void;
  onCancel: () => void;
}) {
  const [draft, setDraft] = useState<PlaceDraft>(() => {
    const own = draftOf(entry.place);
    return entry.builtIn ? { ...own, texts: { ...own.texts, name: `${entry.place.name}, mine` } } : own;
  });
  const result = placeOf(draft);
  const errors: Readonly<Record<string, string>> = 'errors' in result ? result.errors : {};
  const change = (part: Partial<PlaceDraft>) => setDraft((before) => ({ ...before, ...part }));
  const write = (path: string) => (value: string) =>
    setDraft((before) => ({ ...before, texts: { ...before.texts, [path]: value } }));
  const field = (path: string, label: string, unit: string, hint?: string) => (
    <FigureField
      label={label}
      unit={unit}
      value={draft.texts[path] ?? ''}
      error={errors[path]}
      {...(hint ? { hint } : {})}
      onChange={write(path)}
    />
  );
  const wrong = Object.keys(errors).length;
  return (
    <form
      className="editor"
      aria-label={`Figures of ${entry.place.name}`}
      onSubmit={(event) => {
        event.preventDefault();
        if ('place' in result) onSave(result.place);
      }}
    >
      <fieldset>
        <legend>Name</legend>
        <FigureField
          wide
          label="Name of the place"
          value={draft.texts.name ?? ''}
          error={errors.name}
          onChange={write('name')}
        />
      </fieldset>
      <fieldset>
        <legend>Response</legend>
        <CurveEditor
          title="Response"
          points={draft.response}
          error={errors.response}
          errorAt={(i, of) => errors[`response.${i}.${of}`]}
          onChange={(response) => change({ response })}
        />
      </fieldset>
      <fieldset>
        <legend>Loudspeakers</legend>
        <div className="fields">
          <LayoutFields
            kind={draft.layout}
            sideDb={draft.texts['layout.sideDb'] ?? ''}
            angleDegrees={draft.texts['layout.angleDegrees'] ?? ''}
            errors={errors}
            onKind={(layout) => change({ layout })}
            onSideDb={write('layout.sideDb')}
            onAngleDegrees={write('layout.angleDegrees')}
          />
          <label className="field">
            How sound arrives
            <select
              value={draft.field}
              onChange={(event) => change({ field: event.target.value as PlaceDraft['field'] })}
            >
              <option value="free">from ahead</option>
              <option value="diffuse">from all around</option>
            </select>
          </label>
        </div>
      </fieldset>
      <fieldset>
        <legend>What it cannot do</legend>
        <div className="fields">
          {field('maximumDb', 'Highest level', 'dB SPL', 'over about 50 ms; above it is held down')}
          <Checkbox
            className="check"
            isSelected={draft.wireless}
            onChange={(wireless) => change({ wireless })}
          >
            <Box /> Wireless, coded once more
          </Checkbox>
          <Checkbox
            className="check"
            isSelected={draft.protects}
            onChange={(protects) => change({ protects })}
          >
            <Box /> Takes strong bass back
          </Checkbox>
        </div>
        {draft.protects && (
          <div className="fields">
            {field('protection.belowHz', 'Bass is what lies under', 'Hz')}
            {field('protection.thresholdDb', 'Taken back from', 'dB SPL')}
            {field('protection.attackSeconds', 'Within', 's')}
            {field('protection.releaseSeconds', 'Back in', 's')}
          </div>
        )}
      </fieldset>
      <fieldset>
        <legend>Noise</legend>
        <Checkbox className="check" isSelected={draft.noisy} onChange={(noisy) => change({ noisy })}>
          <Box /> There is noise
        </Checkbox>
        {draft.noisy && (
          <>
            <div className="fields">{field('noise.levelDba', 'How loud', 'dB(A)')}</div>
            <CurveEditor
              title="Noise spectrum"
              points={draft.shape}
              error={errors['noise.shape']}
              errorAt={(i, of) => errors[`noise.shape.${i}.${of}`]}
              onChange={(shape) => change({ shape })}
            />
          </>
        )}
      </fieldset>
      <fieldset>
        <legend>How loud people listen</legend>
        <div className="fields">
          {field('levels.talkOverDba', 'Talk-over', 'dB(A)', 'what people talk over there')}
          {field('levels.loudDba', 'Loud', 'dB(A)')}
        </div>
      </fieldset>
      <div className="editor-acts">
        <button type="submit" className="primary" disabled={pending || wrong > 0}>
          {entry.builtIn ? 'Save as a place of your own' : 'Save'}
        </button>
        <button type="button" className="plain" onClick={onCancel}>
          Leave it as it was
        </button>
        <span role="status" className={wrong > 0 ? 'field-error' : 'note'}>
          {wrong > 0
            ? `${wrong === 1 ? 'One figure' : `${wrong} figures`} cannot be saved as typed; what is wrong is said beside ${wrong === 1 ? 'it' : 'them'}.`
            : ''}
        </span>
      </div>
    </form>
  );
}
