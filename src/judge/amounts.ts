/** Large counts and long times as people say them. */

/** 12345.6 -> '12,346'; below ten with one decimal when it is not whole. */
export function thousands(value: number): string {
  const rounded = value < 10 ? Math.round(value * 10) / 10 : Math.round(value);
  return String(rounded).replace(/\B(?=(\d{3})+$)/g, ',');
}

/** Seconds of work: '40 s', '12 min', '3 h 50 min', '2 d 4 h'. */
export function duration(seconds: number): string {
  if (seconds < 100) return `${Math.ceil(seconds)} s`;
  const minutes = Math.ceil(seconds / 60);
  if (minutes < 100) return `${minutes} min`;
  const hours = Math.floor(minutes / 60);
  return hours < 48 ? `${hours} h ${minutes % 60} min` : `${Math.floor(hours / 24)} d ${hours % 24} h`;
}
