/** What songs can be sorted by, and the column that holds it. Every one has an index. */
export const songSorts = {
  order: 'seq',
  name: 'sort_name',
  mend: 'mend_count',
  lufs: 'integrated_lufs',
  truePeak: 'true_peak_dbtp',
  plr: 'plr_db',
  range: 'range_lu',
  tilt: 'tilt_db',
  seconds: 'seconds',
  took: 'took_ms',
} as const;

export type SongSort = keyof typeof songSorts;
export const songSortNames = Object.keys(songSorts) as [SongSort, ...SongSort[]];
