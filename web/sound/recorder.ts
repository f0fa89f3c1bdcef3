import { wavHeader } from '../../src/audio/encode-wav.ts';
import { type FromRecorder, recorderProcessor } from './recorder-messages.ts';
import workletUrl from './recorder-worklet.ts?worker&url';

/** What makes a browser's microphone follow the room instead of recording it: all of it off, as far as the browser lets. */
const plainInput: MediaTrackConstraints = {
  echoCancellation: false,
  noiseSuppression: false,
  autoGainControl: false,
};
const inWords: Record<string, string> = {
  echoCancellation: 'echo cancellation',
  noiseSuppression: 'noise suppression',
  autoGainControl: 'automatic gain',
};

/** A sentence for a person: why nothing can be recorded here. */
export class NoMicrophone extends Error {
  override readonly name = 'NoMicrophone';
}

/** A microphone that is open. What it hears is kept only between `keep` and `take`. */
export interface Recorder {
  readonly context: AudioContext;
  /** What the browser goes on doing to the sound though it was asked not to. */
  readonly kept: readonly string[];
  keep(): void;
  /** Seconds kept so far. */
  readonly seconds: number;
  /** All that was kept, as a WAV file of 32-bit floats. */
  take(): File;
  close(): Promise<void>;
}

/**
 * Opens the microphone as plain as the browser lets.
 *
 * @param heard told of every tenth of a second: its peak, dBFS
 */
export async function openRecorder(heard: (peakDbfs: number) => void): Promise<Recorder> {
  if (!navigator.mediaDevices?.getUserMedia)
    throw new NoMicrophone(
      'Browsers record only on the machine itself or over a safe connection. Open the address that begins with http://127.0.0.1, or record with a phone and bring the file here.',
    );
  const stream = await navigator.mediaDevices.getUserMedia({ audio: plainInput }).catch((cause: unknown) => {
    throw new NoMicrophone(whyNot(cause), { cause });
  });
  const context = new AudioContext();
  try {
    await context.audioWorklet.addModule(workletUrl);
    const source = context.createMediaStreamSource(stream);
    const node = new AudioWorkletNode(context, recorderProcessor, { numberOfOutputs: 0 });
    const parts: FromRecorder[] = [];
    let keeping = false;
    let frames = 0;
    node.port.onmessage = ({ data }: MessageEvent<FromRecorder>) => {
      const [first] = data;
      if (!first) return;
      heard(
        20 *
          Math.log10(
            data.flat().reduce((high, x) => x.reduce((a, b) => Math.max(a, Math.abs(b)), high), 1e-6),
          ),
      );
      if (!keeping) return;
      parts.push(data);
      frames += first.length;
    };
    source.connect(node);
    await context.resume();
    const settings = stream.getAudioTracks()[0]?.getSettings() ?? {};
    return {
      context,
      kept: Object.entries(inWords).flatMap(([name, words]) =>
        settings[name as keyof MediaTrackSettings] === true ? [words] : [],
      ),
      keep: () => {
        parts.length = 0;
        frames = 0;
        keeping = true;
      },
      get seconds() {
        return frames / context.sampleRate;
      },
      take: () => {
        keeping = false;
        return wavFile(parts, context.sampleRate);
      },
      close: async () => {
        for (const track of stream.getTracks()) track.stop();
        await context.close();
      },
    };
  } catch (cause) {
    for (const track of stream.getTracks()) track.stop();
    await context.close().catch(() => {});
    throw new NoMicrophone('The part that records could not be loaded. Load the page anew.', { cause });
  }
}

function whyNot(cause: unknown): string {
  const name = cause instanceof DOMException ? cause.name : '';
  if (name === 'NotAllowedError')
    return 'The browser was not allowed to use the microphone. Allow it beside the address, or record with a phone and bring the file here.';
  if (name === 'NotFoundError')
    return 'There is no microphone on this machine. Plug one in, or record with a phone and bring the file here.';
  return 'The microphone could not be opened; another program may be holding it. Close that, or record with a phone and bring the file here.';
}

function wavFile(parts: readonly FromRecorder[], sampleRate: number): File {
  const channels = Math.min(...parts.map((part) => part.length), 2);
  const frames = parts.reduce((sum, [first]) => sum + (first?.length ?? 0), 0);
  const samples = new Float32Array(frames * channels);
  let at = 0;
  for (const part of parts) {
    const length = part[0]?.length ?? 0;
    for (let c = 0; c < channels; c++) {
      const channel = part[c];
      if (channel) for (let n = 0; n < length; n++) samples[(at + n) * channels + c] = channel[n] ?? 0;
    }
    at += length;
  }
  return new File([wavHeader(sampleRate, channels, frames, 'f32'), samples], 'Recorded here.wav', {
    type: 'audio/wav',
  });
}
