import type { ShootoutDetail, ShootoutSummary } from '../../src/server/shootout-api.ts';
import { clock } from '../words/figures.ts';

/** What each kind of shoot-out asks, in a word and in a sentence. */
export const kindWords: Record<ShootoutDetail['kind'], { readonly word: string; readonly asks: string }> = {
  preference: {
    word: 'Pairs',
    asks: 'Two at a time: which would you rather keep listening to, or no difference?',
  },
  rating: { word: 'Ratings', asks: 'All at once, each with a score from 0 to 100.' },
  abx: {
    word: 'ABX',
    asks: 'Of two masters: X is one of them. Is the difference heard at all?',
  },
};

/** Where a shoot-out stands. */
export const stateWords: Record<ShootoutSummary['state'], string> = {
  draft: 'being set up',
  open: 'voting is open',
  revealed: 'revealed',
};

export const whereWords = {
  here: 'at this machine',
  network: 'on this network',
  folder: 'far away',
} as const;

/** 'about 12 minutes' */
export function about(seconds: number): string {
  const minutes = Math.max(1, Math.round(seconds / 60));
  return minutes === 1 ? 'about a minute' : `about ${minutes} minutes`;
}

/** A day and a time as read by whoever sits here. */
export const moment = (at: string): string =>
  new Date(at).toLocaleString([], { dateStyle: 'medium', timeStyle: 'short' });

/** Seconds from what a person writes: '83', '1:23', '1:23.5'; null when that is no time. */
export function secondsFrom(text: string): number | null {
  const match = /^\s*(?:(\d+):)?(\d+(?:[.,]\d+)?)\s*$/.exec(text);
  if (!match) return null;
  const [, minutes, seconds] = match;
  const rest = Number(seconds?.replace(',', '.'));
  return minutes !== undefined && rest >= 60 ? null : 60 * Number(minutes ?? 0) + rest;
}

/** Seconds as `secondsFrom` reads them, in as few digits as they need. */
export const writtenSeconds = (seconds: number): string => clock(seconds, Number.isInteger(seconds) ? 0 : 2);
