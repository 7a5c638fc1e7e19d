/** Something of the map that lies under a pointer. */
export type Under = {
  on: "part" | "joint";
  id: string;
  /** px from its middle; 0 for a part. */
  away: number;
  /** px across, the longer way. */
  size: number;
};

/** px: so near to the middle of a joint nothing else is meant. */
const EXACT = 9;
/** px across: a part as small as this is meant rather than a joint somewhere near. */
const SMALL = 44;

/**
 * What is meant by a tap, the likeliest first, each once; `under` from above to below. What is small
 * goes before what is large: otherwise a post could not be told from the body that carries it.
 */
export function meant(under: readonly Under[]): Under[] {
  const rank = (one: Under) => (one.on === "joint" ? (one.away <= EXACT ? 0 : 2) : one.size < SMALL ? 1 : 3);
  const sorted = under.map((one, at) => ({ one, at })).sort((a, b) => rank(a.one) - rank(b.one) || a.one.away - b.one.away || a.at - b.at);
  return sorted.map(({ one }) => one).filter((one, at, all) => all.findIndex((other) => other.on === one.on && other.id === one.id) === at);
}
