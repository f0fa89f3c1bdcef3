import { type Client, readEvents } from './server-support.ts';

/** What a client gets to see when it asks again at every piece of news of the desk, until `wanted` holds. */
export async function whenTold<T>(
  client: Client,
  ask: () => Promise<T>,
  wanted: (answer: T) => boolean,
): Promise<T> {
  const stop = new AbortController();
  const events = await fetch(`${client.url}/api/events`, { signal: stop.signal });
  try {
    const now = await ask();
    if (wanted(now)) return now;
    for await (const { event } of readEvents(events)) {
      if (event !== 'desk') continue;
      const answer = await ask();
      if (wanted(answer)) return answer;
    }
    throw new Error('the event stream ended');
  } finally {
    stop.abort();
  }
}
