import { changeOf, EventReader, tellsAnew } from "./api/events";
import { door, lineDown } from "./api/line";
import type { Change } from "./api/shapes";

/** The server sends a comment every 15 s; a stream silent for this long is dead. */
const SILENCE_MS = 40_000;
const LONGEST_PAUSE_MS = 30_000;

/**
 * Keeps the event stream open until `signal` ends, and tells every change once.
 * It comes back with the last id it saw, so that nothing is missed; `anew` is told each time the
 * stream is open, because what happened before that must be fetched, and when the server says that
 * too much was missed.
 */
export async function listen(tell: (change: Change) => void, anew: () => void, signal: AbortSignal): Promise<void> {
  const reader = new EventReader();
  let pause = 1000;
  while (!signal.aborted) {
    const silence = new AbortController();
    // The browser knows at once that the machine has lost its network; the stream would only fall silent.
    window.addEventListener("offline", () => {
      lineDown.value ??= new Date();
      silence.abort();
    }, { signal: AbortSignal.any([signal, silence.signal]) });
    const response = await door.stream("/events", reader.lastId, AbortSignal.any([signal, silence.signal]));
    if (response?.ok === true && response.body !== null) {
      lineDown.value = undefined;
      anew();
      pause = 1000;
      await readAll(response.body, reader, tell, anew, silence);
    } else if (response?.status === 401 || response?.status === 403) {
      return; // Nobody is signed in any more: the sign-in begins a new stream.
    } else {
      lineDown.value ??= new Date();
    }
    silence.abort();
    await wait(pause, signal);
    pause = Math.min(pause * 2, LONGEST_PAUSE_MS);
  }
}

async function readAll(
  body: ReadableStream<Uint8Array>,
  reader: EventReader,
  tell: (change: Change) => void,
  anew: () => void,
  silence: AbortController,
): Promise<void> {
  const decoder = new TextDecoder();
  const pieces = body.getReader();
  let timer = setTimeout(() => silence.abort(), SILENCE_MS);
  try {
    for (;;) {
      const { done, value } = await pieces.read();
      if (done) return;
      clearTimeout(timer);
      timer = setTimeout(() => silence.abort(), SILENCE_MS);
      for (const told of reader.take(decoder.decode(value, { stream: true }))) {
        if (tellsAnew(told)) anew();
        const change = changeOf(told);
        if (change !== undefined) tell(change);
      }
    }
  } catch {
    // The line was cut or fell silent; the caller opens it again.
  } finally {
    clearTimeout(timer);
    reader.cut();
  }
}

/** Waits so long, or until the network is back. */
function wait(ms: number, signal: AbortSignal): Promise<void> {
  return new Promise((done) => {
    const over = new AbortController();
    const end = () => {
      clearTimeout(timer);
      over.abort();
      done();
    };
    const timer = setTimeout(end, ms);
    signal.addEventListener("abort", end, { signal: over.signal });
    window.addEventListener("online", end, { signal: over.signal });
  });
}
