/** `1 day`, `2 days`. */
export const count = (n: number, one: string, many: string) => `${n} ${n === 1 ? one : many}`;
