/** The tube or the socket: what may be said, and on what it rests. */
import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { type SectionSighting, tubeFindings } from "../../src/history/tube-findings.ts";

function seen(serial: string, socket: string, weak: boolean, section = "a"): SectionSighting {
  const [unit = "", position = ""] = socket.split(" ");
  return {
    serial,
    unit,
    position,
    section,
    net: "Q",
    run: `${serial} in ${socket}`,
    lowV: weak ? 14 : 11,
    z: weak ? 6 : 0,
    units: 8,
    failed: false,
    weak,
  };
}

describe("tubeFindings", () => {
  it("blames a tube that is weak in two sockets, and shows where it was not", () => {
    const [finding, ...others] = tubeFindings([
      seen("T1", "LV-12 V1", true),
      seen("T1", "LV-13 V1", true),
      seen("T1", "LV-14 V1", false),
      seen("T2", "LV-12 V1", false),
    ]);
    expect(finding).toMatchObject({ kind: "the tube", serial: "T1", unit: null });
    expect(finding?.weakIn.map(({ unit }) => unit)).toEqual(["LV-12", "LV-13"]);
    expect(finding?.goodIn.map(({ unit }) => unit)).toEqual(["LV-14"]);
    expect(others).toEqual([]);
  });

  it("blames a socket that weakens two tubes, and says where to look", () => {
    const findings = tubeFindings([
      seen("T1", "LV-12 V1", true),
      seen("T2", "LV-12 V1", true),
      seen("T1", "LV-13 V1", false),
    ]);
    expect(findings).toMatchObject([
      { kind: "the socket", serial: null, unit: "LV-12", position: "V1" },
    ]);
    expect(findings[0]?.next).toContain("what is around V1");
  });

  it("leaves a single sighting open, and names the swap that has not been tried", () => {
    const [untried] = tubeFindings([seen("T1", "LV-12 V1", true)]);
    expect(untried).toMatchObject({ kind: "tube or socket", serial: "T1", unit: "LV-12" });
    expect(untried?.next).toContain("put T1 into another socket");
    const [tried] = tubeFindings([seen("T1", "LV-12 V1", true), seen("T1", "LV-13 V2", false)]);
    expect(tried?.next).toBe("put another tube into LV-12 V1 and prove it again");
  });

  it("takes two weak sections of one tube in one socket for one sighting", () => {
    const [finding, ...others] = tubeFindings([
      seen("T1", "LV-12 V1", true, "a"),
      seen("T1", "LV-12 V1", true, "b"),
    ]);
    expect(finding?.kind).toBe("tube or socket");
    expect(finding?.weakIn).toHaveLength(2);
    expect(others).toEqual([]);
  });

  it("never speaks of what is not weak, and speaks of all that is", () => {
    const sighting = fc.record({
      serial: fc.constantFrom("T1", "T2", "T3"),
      socket: fc.constantFrom("LV-12 V1", "LV-12 V2", "LV-13 V1"),
      weak: fc.boolean(),
    });
    fc.assert(
      fc.property(fc.array(sighting, { maxLength: 12 }), (made) => {
        const sightings = made.map(({ serial, socket, weak }) => seen(serial, socket, weak));
        const named = new Set(tubeFindings(sightings).flatMap(({ weakIn }) => weakIn));
        expect([...named].every(({ weak }) => weak)).toBe(true);
        expect(named.size).toBe(sightings.filter(({ weak }) => weak).length);
      }),
    );
  });
});
