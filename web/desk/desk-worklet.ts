import { DeskEngine } from '../../src/compare/listening/engine.ts';
import { deskProcessor, type FromWorklet, type ToWorklet } from './desk-messages.ts';
import { liveMakers } from './live-makers.ts';
import { WorkMeter } from './work-meter.ts';

// What an AudioWorklet's global scope has; TypeScript's own library does not say.
declare const sampleRate: number;
declare const currentFrame: number;
declare class AudioWorkletProcessor {
  readonly port: MessagePort;
}
declare function registerProcessor(name: string, processor: new () => AudioWorkletProcessor): void;

/** Frames between two reports. */
const reportFrames = 2048;
/** Missing chunks named in a report. */
const mostWanted = 12;

/** The engine in the audio thread. */
class DeskProcessor extends AudioWorkletProcessor {
  readonly #engine = new DeskEngine(sampleRate, liveMakers(sampleRate));
  readonly #meter = new WorkMeter(sampleRate, Date.now);
  #heeded = 0;
  #reportAt = 0;

  constructor() {
    super();
    this.port.onmessage = ({ data }: MessageEvent<ToWorklet>) => {
      this.#heed(data);
      this.#heeded++;
      // Chunks are no reason to speak; whatever changes what is heard is.
      if (!('samples' in data)) this.#reportAt = 0;
    };
  }

  process(_inputs: unknown, [output]: readonly (readonly Float32Array[])[]): boolean {
    if (currentFrame >= this.#reportAt) {
      this.#reportAt = currentFrame + reportFrames;
      const report: FromWorklet = {
        ...this.#engine.report(mostWanted),
        ...this.#meter.work,
        frame: currentFrame,
        heeded: this.#heeded,
      };
      this.port.postMessage(report);
    }
    const [left, right] = output ?? [];
    if (left && right) this.#meter.measure(currentFrame, () => this.#engine.process(left, right));
    return true;
  }

  #heed(message: ToWorklet): void {
    const engine = this.#engine;
    if ('samples' in message) engine.give(message.sound, message.chunk, message.samples);
    else if ('sources' in message) engine.setSources(message.sources, message.lengthFrames);
    else if ('timelineFrames' in message) engine.setLength(message.sound, message.timelineFrames);
    else if ('choose' in message) engine.choose(message.choose);
    else if ('play' in message) {
      if (message.play) engine.play();
      else engine.pause();
    } else if ('seek' in message) engine.seek(message.seek);
    else if ('loop' in message) engine.setLoop(message.loop);
    else if ('hearing' in message) engine.setHearing(message.hearing);
    else if ('place' in message) engine.setPlace(message.place, message.gain);
    else if ('placeGain' in message) engine.setPlaceGain(message.placeGain);
    else engine.setNoise(message.noise);
  }
}

registerProcessor(deskProcessor, DeskProcessor);
