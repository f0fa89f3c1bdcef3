import { useState } from 'react';
import type { Level } from '../../src/server/desk-api.ts';
import { useAtEar, useLevelChanges } from '../api/desk-queries.ts';
import { figure } from '../words/figures.ts';
import { Calibrate } from './calibrate.tsx';
import type { Desk } from './use-desk.ts';

const quietDb = -20;

/** How loud it is, roughly, and for how long one has listened. */
export function LevelPanel({ desk, level }: { desk: Desk; level: Level }) {
  const [calibrating, setCalibrating] = useState(false);
  const { patchLevel } = useLevelChanges();
  const atEar = useAtEar(desk.chosen?.name ?? 'this', sentLufs(desk));
  return (
    <section className="level-panel" aria-labelledby="level-heading">
      <h2 id="level-heading">How loud, how long</h2>
      <p className="sentence" data-level>
        {atEar.data?.sentence}
      </p>
      {level.advice !== null && (
        <p className="sentence advice" role="status" data-advice>
          {level.advice}
        </p>
      )}
      <dl className="file-note clock">
        <div>
          <dt>Without a pause</dt>
          <dd className="num">{duration(level.sinceBreakSeconds)}</dd>
        </div>
        <div>
          <dt>Today</dt>
          <dd className="num">
            {duration(level.today.seconds)}
            {share(level.today.shareOfAllowance, 'of a day’s allowance (NIOSH)')}
          </dd>
        </div>
        <div>
          <dt>Seven days</dt>
          <dd className="num">
            {duration(level.week.seconds)}
            {share(level.week.shareOfAllowance, 'of a week’s allowance (WHO–ITU H.870)')}
          </dd>
        </div>
      </dl>
      <p className="note">
        Rough guidance, not a measurement of exposure. Where rules for work apply, and wherever your hearing
        is in question, they and people qualified for hearing go first.
      </p>
      <p>
        <label className="find">
          40 hours a week for{' '}
          <select
            value={level.listener}
            onChange={(event) => patchLevel.mutate({ listener: event.target.value as Level['listener'] })}
          >
            <option value="adult">adults: 80 dBA</option>
            <option value="sensitive">children, sensitive ears: 75 dBA</option>
          </select>
        </label>
      </p>
      <button type="button" className="secondary" onClick={() => setCalibrating(true)}>
        {level.calibration ? 'Find the level again' : 'Find out how loud it is here'}
      </button>
      {calibrating && <Calibrate desk={desk} onClose={() => setCalibrating(false)} />}
    </section>
  );
}

/** How loud what is heard is sent out, LUFS; null when it has no loudness. */
function sentLufs({ hearing, sentIn }: Desk): number | null {
  return sentIn === null ? null : sentIn + hearing.levelDb + (hearing.quiet ? quietDb : 0);
}

function duration(seconds: number): string {
  const minutes = Math.floor(seconds / 60);
  if (minutes < 1) return 'less than a minute';
  if (minutes < 60) return `${minutes} min`;
  return `${Math.floor(minutes / 60)} h ${minutes % 60} min`;
}

const share = (value: number | null, of: string) =>
  value === null
    ? '; share of the allowance unknown until the level is'
    : `, ${figure(100 * value, 0)} % ${of}`;
