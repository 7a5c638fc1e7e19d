import type { Change } from "./shapes";

/** One server-sent event: its id as far as told, its name and its data. */
export type Told = { id: string; event: string; data: string };

/**
 * Reads server-sent events out of text that arrives in pieces cut anywhere.
 * Follows the "event stream interpretation" of the HTML standard (section 9.2.6): lines end with
 * CRLF, LF or CR; a line beginning with a colon is a comment; an empty line sends the event; an
 * event without data is not sent, but its id counts.
 */
export class EventReader {
  #rest = "";
  #endedWithCr = false;
  #data: string[] = [];
  #event = "";
  /** The id of the last event that told one: what `Last-Event-ID` has to say. */
  lastId = "";

  /** Takes the next piece and gives the events that it completes. */
  take(piece: string): Told[] {
    const text = this.#endedWithCr && piece.startsWith("\n") ? piece.slice(1) : piece;
    if (piece !== "") this.#endedWithCr = piece.endsWith("\r");
    const lines = (this.#rest + text).split(/\r\n|\n|\r/);
    this.#rest = lines.pop() ?? "";
    return lines.flatMap((line) => this.#line(line));
  }

  /** Forgets what a cut connection left half said; the last id stays. */
  cut(): void {
    this.#rest = "";
    this.#endedWithCr = false;
    this.#data = [];
    this.#event = "";
  }

  #line(line: string): Told[] {
    if (line === "") {
      const told = { id: this.lastId, event: this.#event === "" ? "message" : this.#event, data: this.#data.join("\n") };
      const complete = this.#data.length > 0;
      this.#data = [];
      this.#event = "";
      return complete ? [told] : [];
    }
    const colon = line.indexOf(":");
    const field = colon < 0 ? line : line.slice(0, colon);
    const value = colon < 0 ? "" : line.slice(colon + 1).replace(/^ /, "");
    if (field === "data") this.#data.push(value);
    else if (field === "event") this.#event = value;
    else if (field === "id" && !value.includes("\0")) this.lastId = value;
    return [];
  }
}

/** Whether so many changes were missed that the server tells none of them: everything is to be read anew. */
export function tellsAnew(told: Told): boolean {
  return told.event === "anew";
}

/** The change in an event's data; `undefined` when it is something this client does not know. */
export function changeOf(told: Told): Change | undefined {
  if (told.event !== "change") return undefined;
  try {
    const data: unknown = JSON.parse(told.data);
    const known = typeof data === "object" && data !== null && "kind" in data && "words" in data;
    return known ? (data as Change) : undefined;
  } catch {
    return undefined;
  }
}
