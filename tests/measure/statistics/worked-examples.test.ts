import { expect, it } from "vitest";
import { workedExamples } from "./worked-examples.ts";

it.each(workedExamples())("$source comes out as printed", ({ prints }) => {
  expect(prints.length).toBeGreaterThan(2);
  expect(prints.map(({ what, found }) => `${what}: ${found}`)).toEqual(
    prints.map(({ what, printed }) => `${what}: ${printed}`),
  );
});
