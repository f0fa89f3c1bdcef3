import type { Place } from '../../src/places/place.ts';
import { FigureField } from '../parts/figure-field.tsx';

type Kind = Place['layout']['kind'];

const kinds: Record<Kind, string> = {
  mono: 'one loudspeaker, or all with the same',
  narrow: 'two close together',
  headphones: 'headphones',
  stereo: 'two apart',
};

/** How loudspeakers stand: which kind, and the one figure that some kinds have. */
export function LayoutFields({
  kind,
  sideDb,
  angleDegrees,
  errors,
  onKind,
  onSideDb,
  onAngleDegrees,
}: {
  kind: Kind;
  sideDb: string;
  angleDegrees: string;
  errors: Readonly<Record<string, string>>;
  onKind: (kind: Kind) => void;
  onSideDb: (value: string) => void;
  onAngleDegrees: (value: string) => void;
}) {
  return (
    <>
      <label className="field">
        Loudspeakers
        <select value={kind} onChange={(event) => onKind(event.target.value as Kind)}>
          {Object.entries(kinds).map(([value, words]) => (
            <option key={value} value={value}>
              {words}
            </option>
          ))}
        </select>
      </label>
      {kind === 'narrow' && (
        <FigureField
          label="Difference of the sides"
          unit="dB"
          value={sideDb}
          error={errors['layout.sideDb']}
          hint="how much weaker it gets, 0 or below"
          onChange={onSideDb}
        />
      )}
      {kind === 'stereo' && (
        <FigureField
          label="Each from straight ahead"
          unit="degrees"
          value={angleDegrees}
          error={errors['layout.angleDegrees']}
          onChange={onAngleDegrees}
        />
      )}
    </>
  );
}
