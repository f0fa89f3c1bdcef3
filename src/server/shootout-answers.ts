import type { WrittenFiles } from '../bench/shootout/outgoing.ts';
import { sizeOf, whatIsMissing } from '../bench/shootout/plan.ts';
import type { EntryRecord, ListenerRecord, ShootoutRecord } from '../bench/store/shootouts.ts';
import type {
  ShootoutDetail,
  ShootoutEntry,
  ShootoutListener,
  ShootoutSummary,
  Written,
} from './shootout-api.ts';

/** A shoot-out as its host sees it: without seed, rounds, cuts and letters, which would tell what is behind them. */
export function summaryOf(record: ShootoutRecord): ShootoutSummary {
  const { id, songId, songTitle, title, kind, question, state, entries, listeners, createdAt, revealedAt } =
    record;
  return {
    id,
    songId,
    songTitle,
    title,
    kind,
    question,
    state,
    entries: entries.length,
    listeners: listeners.length,
    votes: listeners.reduce((sum, { answered }) => sum + answered, 0),
    createdAt,
    revealedAt,
  };
}

export function detailOf(record: ShootoutRecord): ShootoutDetail {
  const { mix, sections, entries, listeners, mostListeners, mostRounds, fairNotes } = record;
  const size =
    mostListeners === null
      ? null
      : sizeOf(record, { listeners: mostListeners, rounds: mostRounds ?? undefined });
  return {
    ...summaryOf(record),
    mixVersionId: mix.versionId,
    mixName: mix.name,
    sections: sections.map((section) => ({ ...section })),
    entries: entries.map(entryOf),
    listeners: listeners.map(listenerOf),
    size: size && { listeners: size.listeners, rounds: size.rounds, secondsEach: size.secondsEach },
    fairNotes: [...fairNotes],
    missing: whatIsMissing(record),
  };
}

export function entryOf({ id, versionId, versionName, maker, yours, notes }: EntryRecord): ShootoutEntry {
  return { id, versionId, versionName, maker, yours, notes: [...notes] };
}

export function listenerOf(listener: ListenerRecord): ShootoutListener {
  return { ...listener };
}

export function writtenOf({ path, key, files }: WrittenFiles): Written {
  return { path, key, files: files.map((file) => ({ ...file })) };
}
