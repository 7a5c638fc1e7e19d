/** What can be typed on a sheet, by name; each field is compared and chosen as a whole. */
export type Fields = Readonly<Record<string, unknown>>;

/** A field that both have changed, to different things. */
export type BothChanged = { field: string; yours: unknown; theirs: unknown };

/**
 * What one person typed and another saved meanwhile, laid together: of what only one of them changed
 * that stands. What both changed stands in `merged` as typed here, is named in `both`, and is asked
 * about before anything is saved. `theirs` names what only the other one changed.
 */
export function mergeFields<F extends Fields>(before: F, mine: F, saved: F): { merged: F; both: BothChanged[]; theirs: string[] } {
  const merged: Record<string, unknown> = {};
  const both: BothChanged[] = [];
  const theirs: string[] = [];
  for (const field of new Set([...Object.keys(mine), ...Object.keys(saved)])) {
    const isMine = !same(mine[field], before[field]);
    const isTheirs = !same(saved[field], before[field]) && !same(saved[field], mine[field]);
    merged[field] = isMine ? mine[field] : saved[field];
    if (isMine && isTheirs) both.push({ field, yours: mine[field], theirs: saved[field] });
    else if (isTheirs) theirs.push(field);
  }
  return { merged: merged as F, both, theirs };
}

/** As [`mergeFields`] has it, with what was chosen where both had changed a field. */
export function asChosen<F extends Fields>({ merged, both }: { merged: F; both: readonly BothChanged[] }, mine: ReadonlySet<string>): F {
  const given = both.filter(({ field }) => !mine.has(field)).map(({ field, theirs }) => [field, theirs] as const);
  return { ...merged, ...Object.fromEntries(given) };
}

export function same(one: unknown, other: unknown): boolean {
  return JSON.stringify(one) === JSON.stringify(other);
}
