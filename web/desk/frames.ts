const calls = new Set<() => void>();
let request = 0;

function frame(): void {
  request = calls.size > 0 ? requestAnimationFrame(frame) : 0;
  for (const call of calls) call();
}

/** Calls at every frame the browser draws, all of them from one request; returns how to stop. */
export function onFrame(call: () => void): () => void {
  calls.add(call);
  if (request === 0) request = requestAnimationFrame(frame);
  return () => calls.delete(call);
}
