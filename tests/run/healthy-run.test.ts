import { describe, expect, it } from "vitest";
import { eventsOf, rehearse, untilEnd } from "./rehearse.ts";

describe("a healthy latch", () => {
  it("passes and ends with every rail proved off", async () => {
    const rehearsal = rehearse();
    const end = await untilEnd(rehearsal);
    expect(end).toMatchObject({ verdict: "pass", cause: "completed", allProvedOff: true });
    expect(rehearsal.bench.violations).toEqual([]);
    expect(eventsOf(rehearsal, "rail-fall").map(({ rail, proof }) => `${rail} ${proof}`)).toEqual([
      "plate verified",
      "bias verified",
      "heater verified",
    ]);
  });
});
