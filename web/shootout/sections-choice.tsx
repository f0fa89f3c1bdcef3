import { useState } from 'react';
import type { ShootoutDetail } from '../../src/server/shootout-api.ts';
import { useVersion } from '../api/queries.ts';
import { useShootoutChanges } from '../api/shootout-queries.ts';
import { say } from '../parts/toasts.tsx';
import { clock, count, figure } from '../words/figures.ts';
import { secondsFrom, writtenSeconds } from './words.ts';

type Span = { readonly startSeconds: number; readonly endSeconds: number };

/** A section found in the mix is offered from its beginning, this long at most, s (heuristic). */
const longestSeconds = 20;
/** Shorter sections are not cut, s. */
const leastSeconds = 3;

const same = (a: Span, b: Span) =>
  Math.abs(a.startSeconds - b.startSeconds) < 0.05 && Math.abs(a.endSeconds - b.endSeconds) < 0.05;

/** Which parts of the song are heard: those found in the mix, and others by their times. */
export function SectionsChoice({ shootout }: { shootout: ShootoutDetail }) {
  const { patch } = useShootoutChanges(shootout.id);
  const mix = useVersion(shootout.mixVersionId, null);
  // As it was just chosen, until the server has said the same.
  const chosen: readonly (Span & { readonly label?: string })[] =
    (patch.isPending ? patch.variables.sections : undefined) ?? shootout.sections;
  const mixSeconds = mix.data?.report?.file.seconds ?? null;
  const seconds = mixSeconds ?? Math.max(...chosen.map(({ endSeconds }) => endSeconds));
  const found = (mix.data?.report?.sections.sections ?? []).map((section) => ({
    ...section,
    endSeconds: Math.min(section.endSeconds, section.startSeconds + longestSeconds),
  }));
  const loudest = mix.data?.report?.sections.loudest;
  const own = chosen.filter((each) => !found.some((section) => same(section, each)));
  const keep = (sections: readonly Span[]) =>
    patch.mutate(
      {
        sections: [...sections]
          .sort((a, b) => a.startSeconds - b.startSeconds)
          .map(({ startSeconds, endSeconds }) => ({ startSeconds, endSeconds })),
      },
      { onError: (error) => say(error.message) },
    );
  const without = (section: Span) => chosen.filter((each) => !same(each, section));
  const last = chosen.length === 1;
  return (
    <>
      <div className="chosen-strip" aria-hidden="true">
        {chosen.map(({ startSeconds, endSeconds, label }) => (
          <span
            key={startSeconds}
            style={{
              left: `${(100 * startSeconds) / seconds}%`,
              width: `${(100 * (endSeconds - startSeconds)) / seconds}%`,
            }}
          >
            {label}
          </span>
        ))}
      </div>
      <p className="note num">
        {count(chosen.length, 'section')} of {clock(seconds)}; each master is heard in all of them.
      </p>
      <ul className="picks sections-found">
        {found.map((section, i) => {
          const on = chosen.some((each) => same(each, section));
          const { label, startSeconds, endSeconds, loudnessLufs } = section;
          if (endSeconds - startSeconds < leastSeconds && !on) return null;
          return (
            <li key={startSeconds}>
              <label className="pick">
                <input
                  type="checkbox"
                  checked={on}
                  disabled={on && last}
                  onChange={() => keep(on ? without(section) : [...chosen, section])}
                />{' '}
                <b>{label}</b>{' '}
                <span className="num">
                  {clock(startSeconds)}–{clock(endSeconds)}
                </span>{' '}
                <span className="note">
                  {figure(loudnessLufs)} LUFS{i === loudest ? ', the loudest' : ''}
                </span>
              </label>
            </li>
          );
        })}
        {own.map((section) => (
          <li key={section.startSeconds}>
            <label className="pick">
              <input type="checkbox" checked disabled={last} onChange={() => keep(without(section))} />{' '}
              <b>{section.label || 'own'}</b>{' '}
              <span className="num">
                {writtenSeconds(section.startSeconds)}–{writtenSeconds(section.endSeconds)}
              </span>{' '}
              <span className="note">your own</span>
            </label>
          </li>
        ))}
      </ul>
      <OwnSpan mixSeconds={mixSeconds} onAdd={(span) => keep([...chosen, span])} />
    </>
  );
}

function OwnSpan({ mixSeconds, onAdd }: { mixSeconds: number | null; onAdd: (span: Span) => void }) {
  const [from, setFrom] = useState('');
  const [to, setTo] = useState('');
  const [trouble, setTrouble] = useState('');
  const add = () => {
    const startSeconds = secondsFrom(from);
    const endSeconds = secondsFrom(to);
    if (startSeconds === null || endSeconds === null) setTrouble('Times are written as 1:23 or 83.5.');
    else if (mixSeconds !== null && endSeconds > mixSeconds)
      setTrouble(`The mix ends at ${clock(mixSeconds)}.`);
    else if (endSeconds - startSeconds < leastSeconds)
      setTrouble(`A section lasts ${leastSeconds} s at least.`);
    else {
      setTrouble('');
      setFrom('');
      setTo('');
      onAdd({ startSeconds, endSeconds });
    }
  };
  return (
    <form
      className="act-line"
      onSubmit={(event) => {
        event.preventDefault();
        add();
      }}
    >
      <label className="find">
        From
        <input
          className="time"
          placeholder="1:23"
          value={from}
          onChange={(event) => setFrom(event.target.value)}
        />
      </label>
      <label className="find">
        to
        <input
          className="time"
          placeholder="1:43"
          value={to}
          onChange={(event) => setTo(event.target.value)}
        />
      </label>
      <button type="submit" className="secondary">
        Add a section
      </button>
      <p role="status" className="note">
        {trouble}
      </p>
    </form>
  );
}
