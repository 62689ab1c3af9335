/** From what a soak laid to a section to the tube that stood there. */
import { describe, expect, it } from "vitest";
import { driftSightings } from "../../src/history/drift-sightings.ts";
import { tubeFindings } from "../../src/history/tube-findings.ts";
import type { Stint } from "../../src/history/tube-stints.ts";
import type { DriftRow } from "../../src/store/run-index/tables.ts";

function stint(serial: string, socket: string, runs: readonly string[]): Stint {
  const [unit = "", position = ""] = socket.split(" ");
  return {
    serial,
    tube: "ECC82",
    unit,
    board: "flasher-latch",
    revision: "A",
    bench: "port",
    position,
    from: "",
    to: "",
    fromMs: 0,
    toMs: 0,
    runs,
    proof: null,
    heaterMs: 0,
    plateMs: 0,
    heaterOnlyMs: 0,
  };
}

function row(run: string, more: Partial<DriftRow> = {}): DriftRow {
  return {
    run,
    position: "V1",
    section: "V1b",
    net: "Q",
    kind: "loses emission",
    orElse: "",
    movedV: 0.31,
    levelV: 12.1,
    ownSd: 12.3,
    hours: 11.5,
    ...more,
  };
}

describe("drift in the tube book", () => {
  it("is said with the serial of the tube that was in the socket at the time", () => {
    const stints = [
      stint("LV-T031", "LV-12 V1", ["night"]),
      stint("LV-T032", "LV-12 V1", ["later"]),
    ];
    const { sightings } = driftSightings(stints, [{ run: "night", drifts: [row("night")] }]);
    expect(sightings).toMatchObject([{ serial: "LV-T031", section: "V1b", weak: true }]);
    expect(sightings[0]?.drift).toBe(
      "Q low drifted +310 mV in 11.5 h of soak (12.3 standard deviations)",
    );
    const [finding] = tubeFindings(sightings);
    expect(finding?.kind).toBe("tube or socket");
    expect(finding?.next).toBe(
      "put LV-T031 into another socket and soak that unit, or another tube into LV-12 V1",
    );
  });

  it("makes it the tube where it drifts in two sockets", () => {
    const stints = [stint("LV-T031", "LV-12 V1", ["one"]), stint("LV-T031", "LV-13 V1", ["two"])];
    const { sightings } = driftSightings(stints, [
      { run: "one", drifts: [row("one")] },
      { run: "two", drifts: [row("two")] },
    ]);
    expect(tubeFindings(sightings)).toMatchObject([{ kind: "the tube", serial: "LV-T031" }]);
  });

  it("goes by the newest soak of the stint that could be judged", () => {
    const { sightings } = driftSightings(
      [stint("LV-T031", "LV-12 V1", ["one", "two"])],
      [
        { run: "one", drifts: [row("one")] },
        { run: "two", drifts: [] },
      ],
    );
    expect(sightings).toEqual([]);
  });

  it("only mentions what may be another tube, and what is a joint or a load before a tube", () => {
    const stints = [stint("LV-T031", "LV-12 V1", ["one"]), stint("LV-T033", "LV-12 V2", ["one"])];
    const { sightings, mentions } = driftSightings(stints, [
      {
        run: "one",
        drifts: [
          row("one", { orElse: "V2a" }),
          row("one", { position: "V2", section: "V2a", orElse: "V1b" }),
          row("one", { kind: "level step" }),
        ],
      },
    ]);
    expect(sightings).toEqual([]);
    expect(mentions.map(({ serial }) => serial)).toEqual(["LV-T031", "LV-T031", "LV-T033"]);
    expect(mentions[0]?.text).toMatch(/^section V1b, Q low drifted .*; it may as well be V2a$/);
    expect(mentions[1]?.text).toMatch(/a joint before a tube$/);
  });

  it("takes a section that gives less with its heaters low for a weak tube, however short the soak", () => {
    const { sightings } = driftSightings(
      [stint("LV-T031", "LV-12 V1", ["one"])],
      [
        {
          run: "one",
          drifts: [row("one", { kind: "weak when cooler", levelV: null, movedV: 0.45 })],
        },
      ],
    );
    expect(sightings[0]?.drift).toBe(
      "Q low rose +450 mV with the heaters low (12.3 standard deviations)",
    );
    expect(sightings[0]).toMatchObject({ weak: true, lowV: null });
  });
});
