import type { Generated } from 'kysely';

/** Tables about places; see tables.ts. */
export interface PlaceTables {
  places: PlaceRow;
  place_reports: PlaceReportRow;
  measurings: MeasuringRow;
}

/** The user's own places; built-in ones are in the code. */
export interface PlaceRow {
  seq: Generated<number>;
  id: string;
  name: string;
  /** Place as JSON, without id and name. */
  place: string;
  /** The place it is a copy of, and what that was called then. */
  from_id: string | null;
  from_name: string | null;
  changed_at: string;
  deleted_at: string | null;
}

/** What places do to a version, as it was last worked out. JSON texts: PlacesSettings, PlacesReport. */
export interface PlaceReportRow {
  version_id: string;
  settings: string;
  report: string;
  /** Stands for the places and references it was made of; another one says that they have changed. */
  made_of: string;
  made_at: string;
}

/** A recording made in a place, and what was measured of it. JSON texts: MeasuringSettings, Measured. */
export interface MeasuringRow {
  seq: Generated<number>;
  id: string;
  settings: string;
  state: 'waiting' | 'running' | 'done' | 'failed' | 'cancelled';
  error_code: string | null;
  error_message: string | null;
  recording_name: string | null;
  recording_sha256: string | null;
  recording_bytes: number | null;
  measured: string | null;
  /** The place that was last made of it. */
  place_id: string | null;
  created_at: string;
}
