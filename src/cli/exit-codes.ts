/** What the command line's exit codes mean; the same for every command. */
export const exitCodes = {
  nothingToMend: 0,
  somethingToMend: 1,
  /** A file could not be read or written, or the command was not understood. */
  failed: 2,
  /** As shells have it: 128 and the number of the signal (2). */
  interrupted: 130,
} as const;

export type ExitCode = (typeof exitCodes)[keyof typeof exitCodes];
