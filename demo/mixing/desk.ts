import { type Compression, compress } from './compressor.ts';
import { pingPong } from './echo.ts';
import { type Band, equalise } from './equaliser.ts';
import { loudnessLufs } from './loudness.ts';
import { type Room, reverberate } from './reverb.ts';
import { addInto, gainOf, panned, type Stereo, samplePeak, scale, silence } from './stereo.ts';

/** One channel of the desk. */
export interface Strip {
  readonly name: string;
  /** One channel is placed by `pan`; two stay where they are. */
  readonly sound: Float32Array | Stereo;
  /** -1 left .. 1 right; for a sound of one channel. */
  readonly pan?: number;
  /** Loudness the strip is brought to while it plays, LUFS: balances are set by the ear's measure, not by fader. */
  readonly lufs: number;
  readonly bands?: readonly Band[];
  readonly compression?: Compression;
  /** Sends, dB; left out: none. */
  readonly room?: number;
  readonly hall?: number;
  readonly echo?: number;
}

export interface Desk {
  readonly rate: number;
  readonly room: Room;
  readonly hall: Room;
  readonly echoSeconds: number;
  readonly echoFeedback?: number;
  /** Equaliser over the whole mix. */
  readonly bus?: readonly Band[];
  /** How long the last of the room takes to fade away, s. */
  readonly fadeSeconds?: number;
  /** Sample peak of the mix, dBFS. */
  readonly peakDbfs: number;
}

/** Equaliser, compressor and level of one strip, in place. */
function prepared(strip: Strip, rate: number): Stereo | null {
  const mono = strip.sound instanceof Float32Array;
  const sound: Stereo = mono ? { left: strip.sound, right: strip.sound } : strip.sound;
  // One channel is worked on once: both names are the same memory. Constant-power panning keeps its loudness,
  // so it is measured as one channel.
  const sides = mono ? [sound.left] : [sound.left, sound.right];
  for (const side of sides) equalise(side, rate, strip.bands ?? []);
  let level = loudnessLufs(sides, rate);
  if (level === Number.NEGATIVE_INFINITY) return null;
  if (strip.compression) {
    compress(sides, rate, -18 - level, strip.compression);
    level = loudnessLufs(sides, rate);
  }
  const gain = gainOf(strip.lufs - level);
  if (mono) return panned(sound.left, strip.pan ?? 0, gain);
  scale(sound, gain);
  return sound;
}

/** Sums the strips with their rooms; the bus has an equaliser and a low cut at 25 Hz, nothing that limits. Works in place on the strips. */
export function mixDown(strips: readonly Strip[], desk: Desk): Stereo {
  const { rate } = desk;
  const first = strips[0].sound;
  const frames = first instanceof Float32Array ? first.length : first.left.length;
  const [mix, room, hall, echo] = [silence(frames), silence(frames), silence(frames), silence(frames)];
  for (const strip of strips) {
    const sound = prepared(strip, rate);
    if (!sound) continue;
    const send = (bus: Stereo, db: number | undefined) => {
      if (db === undefined) return;
      addInto(bus.left, sound.left, gainOf(db));
      addInto(bus.right, sound.right, gainOf(db));
    };
    send(mix, 0);
    send(room, strip.room);
    send(hall, strip.hall);
    send(echo, strip.echo);
  }
  const echoes = pingPong(echo, rate, { seconds: desk.echoSeconds, feedback: desk.echoFeedback ?? 0.45 });
  addInto(hall.left, echoes.left, 0.25);
  addInto(hall.right, echoes.right, 0.25);
  for (const wet of [echoes, reverberate(room, rate, desk.room), reverberate(hall, rate, desk.hall)]) {
    addInto(mix.left, wet.left);
    addInto(mix.right, wet.right);
  }
  for (const side of [mix.left, mix.right])
    equalise(side, rate, [
      ...(desk.bus ?? []),
      { kind: 'lowcut', hz: 25, q: 0.54 },
      { kind: 'lowcut', hz: 25, q: 1.31 },
    ]);
  fadeEnd(mix, rate, desk.fadeSeconds ?? 2);
  scale(mix, gainOf(desk.peakDbfs) / samplePeak(mix));
  return mix;
}

/** The last of the room goes down to nothing, with 0.2 s of true silence after it. */
function fadeEnd({ left, right }: Stereo, rate: number, seconds: number): void {
  const end = left.length - Math.round(0.2 * rate);
  const start = end - Math.round(seconds * rate);
  for (let i = Math.max(0, start); i < left.length; i++) {
    const gain = i >= end ? 0 : Math.cos((Math.PI / 2) * ((i - start) / (end - start))) ** 2;
    left[i] *= gain;
    right[i] *= gain;
  }
}
