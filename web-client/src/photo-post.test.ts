import { beforeEach, expect, test, vi } from "vitest";
import type { Answer } from "./api/answer";
import type { NewFinding, NewPhoto } from "./api/shapes";

const server = vi.hoisted(() => ({
  findings: [] as string[],
  photos: [] as { name: string; beside: NewPhoto }[],
  finding: undefined as unknown,
  photo: undefined as unknown,
}));
vi.mock("./store", async () => {
  const { signal } = await import("@preact/signals");
  return { signedIn: signal({ person: { id: "tomas" } }), photosNotSent: signal([]) };
});
vi.mock("./kept", () => ({ sendKept: async () => {} }));
vi.mock("./api/calls", () => ({
  findings: {
    add: async (_: string, __: NewFinding, once: string) => {
      server.findings.push(once);
      return server.finding;
    },
  },
  photos: {
    add: async (_: string, file: File, beside: NewPhoto) => {
      server.photos.push({ name: file.name, beside });
      return server.photo;
    },
  },
}));
vi.stubGlobal("window", { addEventListener: () => {} });

const ok = (value: unknown): Answer<unknown> => ({ kind: "ok", value, version: "" });
const refused = (detail: string): Answer<unknown> => ({ kind: "problem", problem: { type: "rule", title: "No.", detail, status: 409 } });
const finding: NewFinding = { kind: "crack", part: "bell", leaks: "yes", found_when: "on_the_bench", likely_to_spread: false };
const picture = (name: string) => new File(["x"], name, { type: "image/png" });
const settled = () => new Promise((soon) => setTimeout(soon, 5));

beforeEach(() => {
  Object.assign(server, { findings: [], photos: [], finding: ok({ id: "f7", shared: true }), photo: ok({}) });
  vi.resetModules();
});

test("photos of a finding that was kept offline are pinned to it and shared as it is, once it has a name", async () => {
  const { lineDown } = await import("./api/line");
  const { post, postingsOf } = await import("./photo-post");
  server.finding = { kind: "away" };
  lineDown.value = new Date();
  post("o1", [picture("one.png"), picture("two.png")], {}, { finding, once: "key", at: Date.now() });
  await settled();
  expect([server.photos, postingsOf("o1").map((one) => one.state)]).toEqual([[], ["away", "away"]]);
  server.finding = ok({ id: "f7", shared: true });
  lineDown.value = undefined;
  await settled();
  expect(server.photos).toEqual(["one.png", "two.png"].map((name) => ({ name, beside: { finding_id: "f7", shared: true } })));
  // The key is that of the kept finding: the server knows it again and makes no second one.
  expect(new Set(server.findings)).toEqual(new Set(["key"]));
  expect(postingsOf("o1")).toEqual([]);
});

test("where its finding was not taken a photo says so, and tried again it is one of the order", async () => {
  const { again, post, postingsOf } = await import("./photo-post");
  server.finding = refused("The order is closed.");
  post("o1", [picture("one.png")], {}, { finding, once: "key", at: Date.now() });
  await settled();
  const [stuck] = postingsOf("o1");
  expect(stuck?.state).toMatchObject({ refused: expect.stringContaining("The order is closed.") });
  if (stuck !== undefined) again(stuck);
  await settled();
  expect(server.photos).toEqual([{ name: "one.png", beside: {} }]);
  expect(postingsOf("o1")).toEqual([]);
});

test("a finding older than a day is not sent a second time for the sake of its photo", async () => {
  const { post, postingsOf } = await import("./photo-post");
  post("o1", [picture("one.png")], {}, { finding, once: "key", at: Date.now() - 86_400_000 });
  await settled();
  expect([server.findings, server.photos, postingsOf("o1").length]).toEqual([[], [], 1]);
});

test("a photo that the server refuses is not forgotten, whichever order is looked at", async () => {
  const { photosNotSent } = await import("./store");
  const { leave, post, postingsOf } = await import("./photo-post");
  server.photo = refused("This is no picture.");
  post("o1", [picture("one.png")]);
  await settled();
  const [stuck] = postingsOf("o1");
  expect(stuck).toMatchObject({ state: { refused: "This is no picture." } });
  expect(photosNotSent.value).toMatchObject([{ order: "o1", person: "tomas" }]);
  if (stuck !== undefined) leave(stuck);
  expect(photosNotSent.value).toEqual([]);
});
