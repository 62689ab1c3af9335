import { describe, expect, it } from "vitest";
import { contactFindings, contactMove } from "../../src/verdict/rig-contacts.ts";
import { latchPlan } from "../run/latch-plan.ts";

/** A node that is high in some milliseconds, through a first-order lag, sampled every millisecond. */
function filtered(node: readonly number[], filterUs: number): number[] {
  const keep = Math.exp(-1000 / filterUs);
  let pin = 0;
  return node.map((level) => {
    pin = level + (pin - level) * keep;
    return Math.round(pin);
  });
}

const node = (text: string) => [...text.padEnd(60, "1")].map((sign) => 800 * Number(sign));

describe("contactMove(samples)", () => {
  const given = { from: 0, sampledMs: 1, filterUs: 3000 };

  it("sees a clean contact through a filter of 3 ms as one that does not bounce", () => {
    const move = contactMove({ ...given, codes: filtered(node("0000001"), 3000) });
    expect(move).toEqual({ answeredAt: 6, bounceMs: 0 });
  });

  it.each([
    ["00000101", 2],
    ["000001001", 3],
    ["0000010101011", 6],
  ])("takes the filter off %s and finds %i ms", (text, bounceMs) => {
    const move = contactMove({ ...given, codes: filtered(node(text), 3000) });
    expect(move).toEqual({ answeredAt: 5, bounceMs });
  });

  it("says nothing of a channel that did not move", () => {
    expect(
      contactMove({
        ...given,
        codes: filtered(
          node("0").map(() => 3),
          3000,
        ),
      }),
    ).toBeNull();
  });

  it("says nothing of too few samples", () => {
    expect(contactMove({ ...given, codes: [0, 800, 800] })).toBeNull();
  });
});

describe("contactFindings(contacts, plan)", () => {
  const look = { contact: "SET", channel: "SET", move: "operate", answeredMs: 9 } as const;

  it("passes over a bounce of small relays, and names a longer one once, at its worst", () => {
    expect(contactFindings([{ ...look, bounceMs: 4 }], latchPlan())).toEqual([]);
    const found = contactFindings(
      [
        { ...look, bounceMs: 6 },
        { ...look, move: "release", bounceMs: 9 },
      ],
      latchPlan(),
    );
    expect(found).toHaveLength(1);
    expect(found[0]).toMatchObject({ kind: "bounce", where: "relay SET", severity: "unfit" });
    expect(found[0]?.seen).toContain("9 ms when it releases");
  });
});
