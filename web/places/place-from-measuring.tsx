import { useState } from 'react';
import { useLocation } from 'wouter';
import type { Place } from '../../src/places/place.ts';
import type { Measuring } from '../../src/server/places-api.ts';
import type { MeasuringChanges } from '../api/place-queries.ts';
import { FigureField } from '../parts/figure-field.tsx';
import { say } from '../parts/toasts.tsx';
import { LayoutFields } from './layout-fields.tsx';
import { draftOf, placeOf } from './place-draft.ts';

/** What is told before the user says otherwise; the response stands for the measured one, which the server has. */
const untold: Omit<Place, 'id' | 'sources'> = {
  name: '',
  response: [{ hertz: 1000, db: 0 }],
  layout: { kind: 'stereo', angleDegrees: 30 },
  field: 'free',
  protection: null,
  maximumDb: 120,
  wireless: false,
  noise: { shape: [{ hertz: 1000, db: 0 }], levelDba: 40 },
  levels: { talkOverDba: 62, loudDba: 80 },
};

/** Asks what a recording cannot know, and makes a place of it. */
export function PlaceFromMeasuring({
  measuring,
  changes,
}: {
  measuring: Measuring;
  changes: MeasuringChanges;
}) {
  const [, go] = useLocation();
  const [draft, setDraft] = useState(() => draftOf(untold));
  const [asked, setAsked] = useState(false);
  const write = (path: string) => (value: string) =>
    setDraft((before) => ({ ...before, texts: { ...before.texts, [path]: value } }));
  const result = placeOf(draft);
  // Nothing is held against a form that nobody has filled in yet.
  const errors: Readonly<Record<string, string>> = asked && 'errors' in result ? result.errors : {};
  const field = (path: string, label: string, hint?: string) => (
    <FigureField
      label={label}
      unit="dB(A)"
      value={draft.texts[path] ?? ''}
      error={errors[path]}
      {...(hint ? { hint } : {})}
      onChange={write(path)}
    />
  );
  return (
    <form
      className="editor"
      aria-label="Make a place of it"
      onSubmit={(event) => {
        event.preventDefault();
        setAsked(true);
        if (!('place' in result)) return;
        const { name, layout, noise, levels } = result.place;
        changes.makePlace.mutate(
          { id: measuring.id, name, layout, noiseDba: noise?.levelDba ?? 0, ...levels },
          {
            onSuccess: ({ place }) => go(`/places/${place.id}`),
            onError: (error) => say(error.message),
          },
        );
      }}
    >
      <p className="sentence">
        A recording does not know how loud it was there, nor how the loudspeakers stand. Levels are those at
        the listener’s ears; a sound level meter, or a phone’s, tells them well enough.
      </p>
      <div className="fields">
        <FigureField
          wide
          label="Name of the place"
          value={draft.texts.name ?? ''}
          error={errors.name}
          onChange={write('name')}
        />
        <LayoutFields
          kind={draft.layout}
          sideDb={draft.texts['layout.sideDb'] ?? ''}
          angleDegrees={draft.texts['layout.angleDegrees'] ?? ''}
          errors={errors}
          onKind={(layout) => setDraft((before) => ({ ...before, layout }))}
          onSideDb={write('layout.sideDb')}
          onAngleDegrees={write('layout.angleDegrees')}
        />
      </div>
      <div className="fields">
        {field('noise.levelDba', 'Noise there', '35 a quiet home, 50 an office, 70 a car on the road')}
        {field('levels.talkOverDba', 'Talk-over', 'music that people talk over there')}
        {field('levels.loudDba', 'Loud')}
      </div>
      <p className="measure-acts">
        <button type="submit" className="primary" disabled={changes.makePlace.isPending}>
          Make a place of it
        </button>
      </p>
    </form>
  );
}
