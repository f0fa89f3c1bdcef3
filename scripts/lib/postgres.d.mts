export function findPostgres(): string | null;
export class Postgres {
  static start(settings?: readonly string[]): Promise<Postgres>;
  url(database: string): string;
  database(): Promise<string>;
  query(database: string, text: string): Promise<Record<string, unknown>[]>;
  resume(): Promise<void>;
  halt(signal?: NodeJS.Signals): Promise<void>;
  remove(): Promise<void>;
}
