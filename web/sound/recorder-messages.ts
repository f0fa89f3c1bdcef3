/** Name under which the recorder's worklet is registered. */
export const recorderProcessor = 'everyroom-recorder';

/** A stretch of what the microphone hears, one array a channel. */
export type FromRecorder = readonly Float32Array<ArrayBuffer>[];
