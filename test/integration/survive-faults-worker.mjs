// The real worker with some formats in it that go wrong on purpose, for survive-file.test.ts.
import work from '../../dist/src/bench/task-worker.js';

// (module (func (export "spin") (loop (br 0)))): WebAssembly that never returns.
const endless = new Uint8Array([
  0, 97, 115, 109, 1, 0, 0, 0, 1, 4, 1, 96, 0, 0, 3, 2, 1, 0, 7, 8, 1, 4, 115, 112, 105, 110, 0, 0, 10, 9, 1,
  7, 0, 3, 64, 12, 0, 11, 11,
]);

const faults = {
  'mp3-128': () => process.exit(3),
  'opus-128': async () => {
    const { instance } = await WebAssembly.instantiate(endless);
    instance.exports.spin();
  },
  'vorbis-160': () => {
    throw new WebAssembly.RuntimeError('unreachable');
  },
};

export default async function runTask(message) {
  const fault = message.task === 'survive-format' && faults[message.input.options.format.id];
  if (fault) {
    message.port.postMessage(0);
    await fault();
  }
  return work(message);
}
