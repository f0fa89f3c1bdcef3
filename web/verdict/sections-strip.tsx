import type { FileReport } from '../../src/judge/file-report.ts';
import type { View } from '../plots/plot.tsx';
import { clock, figure } from '../words/figures.ts';

/** The form of the song above its waveform: a letter comes back where its music does; pressing one shows it. */
export function SectionsStrip({
  sections: { sections, loudest, quietest },
  seconds,
  view,
  onView,
}: {
  sections: FileReport['sections'];
  seconds: number;
  view: View;
  onView: (view: View) => void;
}) {
  if (sections.length < 2) return null;
  const { from, to } = view ?? { from: 0, to: seconds };
  const share = (time: number) => (100 * (Math.min(to, Math.max(from, time)) - from)) / (to - from);
  return (
    <ul className="sections-strip" aria-label="Sections of the song">
      {sections.map((section, i) => {
        const { label, startSeconds, endSeconds, loudnessLufs } = section;
        const left = share(startSeconds);
        const width = share(endSeconds) - left;
        if (width <= 0) return null;
        const rank = i === loudest ? ', the loudest' : i === quietest ? ', the quietest' : '';
        const words = `Section ${label}, ${clock(startSeconds)}–${clock(endSeconds)}, ${figure(loudnessLufs)} LUFS${rank}`;
        const mark = i === loudest ? '▲' : i === quietest ? '▽' : '';
        const shown = view?.from === startSeconds && view.to === endSeconds;
        return (
          <li key={startSeconds} style={{ left: `${left}%`, width: `${width}%` }}>
            <button
              type="button"
              className={`section section-${label.charCodeAt(0) % 4}`}
              aria-label={words}
              aria-pressed={shown}
              title={words}
              onClick={() => onView(shown ? null : { from: startSeconds, to: endSeconds })}
            >
              {label}
              {mark && <small> {mark}</small>}
            </button>
          </li>
        );
      })}
    </ul>
  );
}
