// Runs in the browser: the desk's real player and worklet over a context that is rendered as fast as it goes, so that what
// comes out can be looked at sample by sample.
import { openDeskPlayer } from '../../web/desk/open-desk-player.ts';

const pending = new Set();
const plainFetch = globalThis.fetch.bind(globalThis);
globalThis.fetch = (...request) => {
  const answer = plainFetch(...request);
  pending.add(answer);
  const gone = () => pending.delete(answer);
  // After whoever waits for it has taken it.
  answer.then(
    () => setTimeout(gone),
    () => setTimeout(gone),
  );
  return answer;
};

const breath = () => new Promise((resolve) => setTimeout(resolve, 4));
/** Reports that were seen when it was settled last. */
let seen = 0;
/** Until the worklet has said what it wants (when it has played since the last time) and nothing is being fetched. */
async function settled(played) {
  for (let patience = 0; played && traffic.reports.length === seen && patience < 500; patience++)
    await breath();
  seen = traffic.reports.length;
  for (let calm = 0; calm < 3; calm++) {
    await breath();
    if (pending.size > 0) calm = 0;
  }
}

const base64 = (samples) => {
  const bytes = new Uint8Array(samples.buffer, samples.byteOffset, samples.byteLength);
  let text = '';
  for (let at = 0; at < bytes.length; at += 32_768)
    text += String.fromCharCode(...bytes.subarray(at, at + 32_768));
  return btoa(text);
};

/** What the worklets said of the room that chunks take, one number a report. */
const chunkBytes = [];
/** Of the worklet opened last: messages sent to it, and its reports of how many it had heeded by which frame. */
const traffic = { sent: 0, reports: [] };
globalThis.AudioWorkletNode = class extends AudioWorkletNode {
  constructor(...given) {
    super(...given);
    traffic.sent = 0;
    traffic.reports = [];
    seen = 0;
    const { port } = this;
    const post = port.postMessage.bind(port);
    port.postMessage = (...message) => {
      traffic.sent++;
      post(...message);
    };
    port.addEventListener('message', ({ data }) => {
      chunkBytes.push(data.chunkBytes);
      traffic.reports.push(data);
    });
  }
};
/** The frame from which on the worklet played by the first `sent` messages; that of its last report when it never said. */
const heededFrom = (sent) =>
  (traffic.reports.find(({ heeded }) => heeded >= sent) ?? traffic.reports.at(-1)).frame;

/** Has sound come from nowhere instead of from the server: so many seconds of it, for any version. */
function soundFromNowhere(seconds) {
  globalThis.fetch = async (address) => {
    const query = new URL(address, location.href).searchParams;
    const [rate, frames] = [Number(query.get('rate')), Number(query.get('frames'))];
    const headers = { 'x-everyroom-frames': String(rate * seconds) };
    return new Response(new Float32Array(2 * frames).fill(0.1), { headers });
  };
}

/** Sources as a page would give them: all on the base's timeline; then the base through each of the chains, under their names. */
const sourcesOf = (song, gains = {}, chains = {}) =>
  [
    ...song.sources.map(({ versionId }) => [versionId, versionId, null]),
    ...Object.entries(chains).map(([id, chain]) => [id, song.baseVersionId, { chain, dryGainDb: 0 }]),
  ].map(([id, versionId, chain]) => ({
    id,
    versionId,
    baseVersionId: song.baseVersionId,
    shiftSeconds: 0,
    gainDb: gains[id] ?? 0,
    serviceDb: 0,
    chain,
  }));

/**
 * Plays for so many seconds of the context's time. `acts`: [seconds, name of a method of the player, its arguments].
 * Gives both channels of what went out; after each act the position as the player says it, and the frame from which on the
 * worklet played by it (how long a message travels is up to the machine).
 */
async function playThrough(what) {
  const { song, gains, chains, place, rate, seconds, start = 0, chosen, acts = [], hearing, loop } = what;
  const frames = Math.ceil((seconds * rate) / 128) * 128;
  const quantum = (at) => (Math.round((at * rate) / 128) * 128) / rate;
  let context;
  const kept = globalThis.AudioContext;
  globalThis.AudioContext = class extends OfflineAudioContext {
    constructor() {
      super(2, frames, rate);
      context = this;
    }
    resume() {
      return Promise.resolve();
    }
    close() {
      return Promise.resolve();
    }
  };
  const player = openDeskPlayer();
  try {
    player.setSources(sourcesOf(song, gains, chains), song.seconds);
    if (place) player.setPlace(place);
    if (hearing) player.setHearing(hearing);
    if (loop) player.setLoop(loop);
    player.choose(chosen);
    player.seek(start);
    // Long enough for the first reports: nothing runs before the rendering does.
    for (
      let patience = 0;
      player.state.state !== 'locked' || player.state.sampleRate !== rate || !context;
      patience++
    ) {
      if (patience > 1000 || player.state.trouble) throw new Error(`no player: ${player.state.trouble}`);
      await breath();
    }
    const moments = new Map();
    const feeding = new Set();
    // The worklet asks for four seconds ahead; well before they are played it gets them.
    for (let at = 0; at < seconds - 0.01; at += at < 0.5 ? 0.05 : 0.5) {
      feeding.add(quantum(at));
      moments.set(quantum(at), []);
    }
    for (const act of acts) {
      const at = quantum(act[0]);
      moments.set(at, [...(moments.get(at) ?? []), act]);
    }
    const told = [];
    const wait = [];
    for (const [at, due] of moments)
      wait.push(
        context.suspend(at).then(async () => {
          if (feeding.has(at)) await settled(at > 0);
          for (const [, method, ...args] of due) {
            player[method](...args);
            told.push({ frame: Math.round(at * rate), position: player.position(), sent: traffic.sent });
          }
          await OfflineAudioContext.prototype.resume.call(context);
        }),
      );
    void player.play();
    const buffer = await context.startRendering();
    await Promise.all(wait);
    const exposure = player.takeExposure();
    return {
      left: base64(buffer.getChannelData(0)),
      right: base64(buffer.getChannelData(1)),
      told: told.map(({ sent, ...each }) => ({ ...each, heeded: heededFrom(sent) })),
      exposure,
      state: player.state.state,
      trouble: player.state.trouble,
    };
  } finally {
    await player.close();
    globalThis.AudioContext = kept;
  }
}

Object.assign(globalThis, { openDeskPlayer, playThrough, sourcesOf, soundFromNowhere, chunkBytes });
