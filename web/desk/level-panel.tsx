import { useState } from 'react';
import type { Level } from '../../src/server/desk-api.ts';
import { figure } from '../words/figures.ts';
import { Calibrate } from './calibrate.tsx';
import type { Desk } from './use-desk.ts';

/** How loud it is, roughly, and for how long one has listened. */
export function LevelPanel({ desk, level }: { desk: Desk; level: Level }) {
  const [calibrating, setCalibrating] = useState(false);
  return (
    <section className="level-panel" aria-labelledby="level-heading">
      <h2 id="level-heading">How loud, how long</h2>
      <p className="sentence" data-level>
        {loudnessWords(desk, level)}
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
      <button type="button" className="secondary" onClick={() => setCalibrating(true)}>
        {level.calibration ? 'Find the level again' : 'Find out how loud it is here'}
      </button>
      {calibrating && <Calibrate desk={desk} onClose={() => setCalibrating(false)} />}
    </section>
  );
}

/** What the chosen sound would be at the ear, in words. */
function loudnessWords(desk: Desk, { calibration }: Level): string {
  if (!calibration)
    return 'How loud you listen is not known yet. It takes two minutes to find out roughly, with a phone or with your own voice.';
  const { hearing, matching, levels, chosen } = desk;
  const gainDb =
    hearing.levelDb + (hearing.quiet ? -20 : 0) + (matching && chosen ? levels.gainDb(chosen.versionId) : 0);
  const lufs =
    matching && levels.match?.matchedLufs != null
      ? levels.match.matchedLufs + hearing.levelDb + (hearing.quiet ? -20 : 0)
      : chosen?.integratedLufs == null
        ? null
        : chosen.integratedLufs + gainDb;
  const how = calibration.by === 'meter' ? 'by a meter’s reading' : 'by talking over it';
  if (lufs === null) return `The level here is known ${how}, but the chosen sound has no loudness.`;
  return `At your level, ${chosen?.name ?? 'this'} comes to about ${figure(lufs + calibration.splAtZeroLufsDb, 0)} dBA where you sit, give or take ${figure(calibration.uncertaintyDb, 0)} (${how}).`;
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
