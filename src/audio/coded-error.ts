/**
 * An error a person will read: one plain sentence that says what is wrong and, where there is something to do,
 * what to do; and a code that stays the same between releases, for programs. Docs: docs/errors.md.
 * Anything else that is thrown is a fault of ours.
 */
export class CodedError extends Error {
  override readonly name = 'CodedError';
  readonly code: ErrorCode;

  constructor(code: ErrorCode, message: string, options?: { cause?: unknown }) {
    super(message, options);
    this.code = code;
  }
}

/** Every code, with what it means. The sentence shown is made where the error is thrown; this is the contract for programs. */
export const errorCodes = {
  FILE_NOT_FOUND: 'No file or folder of that name.',
  FILE_IS_DIRECTORY: 'A folder was given where a sound file is wanted.',
  FILE_NO_PERMISSION: 'The file or folder may not be read or written by this user.',
  FILE_EMPTY: 'The file has no bytes.',
  FILE_TOO_LARGE: 'The file is over the size limit.',
  FILE_EXISTS: 'A file is there already and would have been overwritten.',
  FILE_CHANGED: 'The file was written to while it was read.',
  FILE_READ_FAILED: 'The disk or network drive failed while the file was read.',
  DISK_FULL: 'There is no room left on the disk that was written to.',
  FILE_WRITE_FAILED: 'A file could not be written for a reason other than permission or room.',
  SOUND_NOT_RECOGNISED: 'The bytes are no sound file that can be read here.',
  SOUND_CODEC_UNKNOWN: 'The container is known, the coding inside is not.',
  SOUND_TRUNCATED: 'The file ends before its first sample, or where nothing can be saved of it.',
  SOUND_DAMAGED: 'The header or the coded data contradict themselves.',
  SOUND_NO_SAMPLES: 'A valid sound file with no samples in it.',
  SOUND_RATE_UNSUPPORTED: 'A sample rate outside 1 Hz to 1,536,000 Hz.',
  SOUND_TOO_MANY_CHANNELS: 'More channels than can be handled (64).',
  SOUND_NOT_NUMBERS: 'Samples that are not finite numbers (NaN or infinity).',
  SOUND_TOO_LONG: 'Longer than this operation can hold in memory.',
  PART_NOT_IN_SONG: 'The lead or the instrumental that was named is not heard in the song.',
  SIGNAL_NOT_FOUND: 'The recording holds neither the sweep nor the reference it should be of.',
  MEASURING_UNSURE: 'Too little of the measuring is sure to make a place of it.',
  MICROPHONE_INVALID: 'The text is no microphone curve: lines of Hz and dB.',
  CODEC_FAILED: 'A lossy encoder or decoder stopped with an error.',
  CODEC_UNSUITABLE: 'The lossy format cannot carry this sound (rate or channel count).',
  CHAIN_INVALID: 'A chain of parts, or a setting in it, that does not exist or lies outside its range.',
  CHAIN_CONFLICT:
    'A chain was changed in another window since it was seen; nothing was changed by this request.',
  CHAIN_UNSUITABLE: 'A chain cannot process this sound: its rate, or more than two channels.',
  FINISH_UNREACHABLE:
    'What a finishing was asked for (a loudness, a ceiling for formats) cannot be reached with this chain.',
  RECORD_INVALID: 'The description of a record does not have its form, or names what cannot be.',
  DELIVERY_REFUSED: 'The folder for a delivery holds something else, or an earlier delivery.',
  REVIEW_REFUSED: 'The link to a song that is to be approved is not known, has run out or was withdrawn.',
  JOB_CANCELLED: 'The work was cancelled by the user.',
  JOB_CRASHED: 'A worker died while doing the work.',
  JOB_TIMED_OUT: 'The work did not end within its time limit and was stopped.',
  NOT_FOUND: 'No such song, version, job, set or page.',
  REQUEST_INVALID:
    'The request does not have the form that the interface describes, or asks for what cannot be (a name that is taken).',
  REQUEST_FORBIDDEN: 'The request came from another site or under another host name.',
  SET_INVALID: 'The folder is no reference set, or what is in it is not what its list says.',
  SHOOTOUT_STATE: 'The shoot-out is not at that point (not opened yet, or revealed already).',
  MASTER_REFUSED: 'The file is no master of the mix that was sent out.',
  SHARING_IMPOSSIBLE: 'This machine has no address in a local network, or its port cannot be had.',
  VOTER_REFUSED: 'The link to a shoot-out is not known, has run out or was withdrawn.',
  VOTE_REFUSED: 'The answer came twice, too late, out of turn, or does not answer that round.',
  VOTE_FILE_INVALID: 'The file is no vote file of this shoot-out, or it was changed.',
  WALK_STATE: 'That can not be changed once something of the walk was noted.',
  WALK_REFUSED: 'The link to a walk is not known, has run out or was withdrawn.',
  WALK_NOTES_INVALID: 'The notes are not as a notebook writes them, or belong to another walk.',
  TOO_MANY_REQUESTS: 'More requests than a person makes; later ones are answered again.',
  STORAGE_IN_USE: 'Another running Everyroom has the data folder.',
  STORAGE_NEWER: 'The data folder or the catalogue was written by a newer Everyroom.',
  STORAGE_FAILED: 'The data folder could not be opened or written.',
  DATABASE_UNREACHABLE:
    'The database that DATABASE_URL names does not answer. While songs are worked on it is asked again for ten minutes first.',
  DATABASE_REFUSED: 'The database that DATABASE_URL names does not let this user in.',
  LIST_INVALID: 'The list of songs is no CSV that can be read.',
  URL_REFUSED:
    'An address that is not asked: on a local network, with a password, or neither http nor https.',
  URL_FAILED: 'The server of an address gave no song; tried three times.',
  URL_TOO_SLOW: 'The server of an address took too long; tried three times.',
  WORKER_LOST: 'The program that checked a song died, as often as it is tried (three times).',
  USAGE: 'The command line was not understood.',
  INTERNAL: 'A fault in Everyroom itself.',
} as const;

export type ErrorCode = keyof typeof errorCodes;
