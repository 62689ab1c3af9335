/** The steps as waves: where the model says otherwise than the file, and where not. */
import { describe, expect, it } from "vitest";
import type { RunEvent } from "../../../src/events/events.ts";
import { healthyEvents } from "../../journal/latch-run.ts";
import { pageOf } from "./page-of.ts";

/** The chart of the page, without what stands round it. */
function chartOf(events: readonly RunEvent[]): string {
  const page = pageOf(events);
  const from = page.indexOf("Steps of the sequence, expected against measured");
  return page.slice(page.lastIndexOf("<svg", from), page.indexOf("</svg>", from));
}

const marks = (svg: string) => svg.match(/>M<\/text>/g)?.length ?? 0;

describe("timingChart", () => {
  it("marks what the model says at the step where it says otherwise, and says what the mark is", () => {
    const doubted = healthyEvents.map((event): RunEvent => {
      if (event.kind !== "run-opened") return event;
      const steps = event.plan.steps.map((step, index) =>
        index === 0 ? { ...step, modelSays: { Q: "high" as const } } : step,
      );
      return { ...event, plan: { ...event.plan, steps } };
    });
    const chart = chartOf(doubted);
    expect(marks(chart)).toBe(1);
    expect(chart).toContain(
      "M marks what the model of the stages says where the file says otherwise, in 1 column",
    );
    const plain = chartOf(healthyEvents);
    expect(plain).toContain("<svg");
    expect([marks(plain), plain.includes("M marks")]).toEqual([0, false]);
  });
});
