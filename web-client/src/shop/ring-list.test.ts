import { expect, test } from "vitest";
import { ring } from "../words/en-ring";
import { peopleToRing } from "./ring-list";

test("who is on the list for several instruments is one person", () => {
  const of = (...ids: string[]) => ring.heading(peopleToRing(ids.map((customer_id) => ({ customer_id }))));
  expect(of()).toBe("Nobody to ring");
  expect(of("ana", "ana", "ana")).toBe("1 person to ring");
  expect(of("ana", "rui", "ana")).toBe("2 people to ring");
});
