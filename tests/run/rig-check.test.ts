/**
 * Whole rig checks on the modelled bench, whose fixture knows nothing of the model that judges it: what
 * was seeded is what is named.
 */
import { describe, expect, it } from "vitest";
import type { RigFinding } from "../../src/events/rig-check.ts";
import type { PartChange } from "../../src/simulate/fixture.ts";
import { runRigCheck } from "../bench/rig-check-run.ts";

function seeded(part: string, parameter: string, value: number): PartChange {
  return { part, parameter, value, atMs: null };
}

function check(changes: readonly PartChange[], board = "flasher-latch") {
  return runRigCheck({ board, seed: 5, changes });
}

const nameOf = ({ kind, where, other }: RigFinding) =>
  `${kind}: ${where}${other === null ? "" : `, ${other}`}`;

describe("a check of a good rig", () => {
  it.each(["flasher-latch", "blast-ring"])(
    "finds nothing on %s, and proves every rail off",
    async (board) => {
      const result = await check([], board);
      expect(result.findings).toEqual([]);
      expect(result).toMatchObject({ cause: "completed", allProvedOff: true });
    },
  );

  it("operates each line and load alone, with every rail on", async () => {
    const { facts } = await check([]);
    const operated = facts?.looks.map(
      ({ state }) => `${state.rails.length} ${state.operated.join("+")}`,
    );
    expect(operated).toEqual([
      "0 ",
      "1 ",
      "2 ",
      "3 ",
      "3 ",
      "3 SET",
      "3 RESET",
      "3 RESET",
      "3 RESET+LAMP",
    ]);
  });

  it("leaves the dead-man to itself: after 600 ms plate, then bias and heater, inside a second", async () => {
    const deadMan = (await check([])).facts?.deadMan;
    expect(deadMan?.setMs).toBe(600);
    // From the last feed: the controller's own time, and what the wire takes.
    expect(deadMan?.firedMs).toBeGreaterThan(550);
    expect(deadMan?.firedMs).toBeLessThan(650);
    expect(deadMan?.falls[0]?.rail).toBe("plate");
    for (const { afterMs } of deadMan?.falls ?? []) expect(afterMs).toBeLessThan(1000);
  });

  it("measures a sound contact at no more than the 2.1 ms it bounces, and a sample on either side", async () => {
    const contacts = (await check([])).facts?.contacts ?? [];
    expect(contacts.map(({ contact }) => contact)).toEqual([
      "heater",
      "bias",
      "plate",
      "SET",
      "SET",
      "RESET",
      "RESET",
      "LAMP",
      "LAMP",
    ]);
    for (const { bounceMs } of contacts) expect(bounceMs).toBeLessThanOrEqual(4);
  });
});

describe("a check of a rig with one fault", () => {
  it.each([
    [seeded("relay.plate", "welded", 1), "welded contact: relay plate"],
    [seeded("relay.SET", "welded", 1), "welded contact: relay SET"],
    [seeded("relay.RESET", "open", 1), "open contact: relay RESET"],
    [seeded("relay.plate", "leakOhm", 200_000), "leaky contact: relay plate"],
    [seeded("relay.SET", "bounceMs", 8), "bounce: relay SET"],
    [seeded("lead.Q", "open", 1), "open lead: Q"],
    [seeded("lead.Q", "exchangedWith", 9), "swapped leads: Q, SET"],
    [seeded("lead.heater.board", "exchangedWith", 6), "swapped leads: heater.board, plate.board"],
    [seeded("multiplexer.Q", "stuckTo", 10), "stuck channel: Q, RESET"],
    [seeded("lead.SET", "floating", 0.5), "floating input: SET"],
    [seeded("lead.SET", "humV", 2), "pick-up: SET"],
    [seeded("lead.SET", "noiseV", 1), "noise: SET"],
    [seeded("converter.reference", "volts", 5.4), "reference off: reference"],
    [seeded("divider.Q", "topFactor", 1.3), "off its level: Q"],
  ])("%o is named", async (change, name) => {
    const { findings } = await check([change]);
    expect(findings.map(nameOf)[0]).toBe(name);
    expect(findings).toHaveLength(1);
    expect(findings[0]?.seen).toMatch(/\d/);
    expect(findings[0]?.whatToDo).toMatch(/\.$/);
  });

  it("says what else it may be where readings cannot part the two", async () => {
    const { findings } = await check([seeded("relay.heater", "open", 1)]);
    const names = [findings[0], ...(findings[0]?.orElse ?? [])].map(
      (one) => `${one?.kind} ${one?.where}`,
    );
    expect(names.sort()).toEqual(["open contact relay heater", "open lead heater.board"]);
  });

  it("tells a lead of bias on one net from one on another by what their joints leave of 3 V", async () => {
    // On a net bias's divider gives 5 V x 22 k / 37 k behind 109 k; joints of 220 k and 390 k leave parts of it.
    for (const net of ["KM1", "M1"]) {
      const number = net === "KM1" ? 11 : 14;
      const { findings } = await check(
        [seeded("lead.bias.source", "exchangedWith", number)],
        "blast-ring",
      );
      expect(findings.map(nameOf)[0]).toBe(`swapped leads: bias.source, ${net}`);
    }
  });

  it("names two faults, the one that explains more first", async () => {
    const { findings } = await check([
      seeded("relay.SET", "welded", 1),
      seeded("lead.Q", "open", 1),
    ]);
    expect(findings.map(nameOf).sort()).toEqual(["open lead: Q", "welded contact: relay SET"]);
  });
});

describe("a check that is broken off", () => {
  it.each([
    "checking supplies",
    "raising plate",
    "walking the relays",
    "testing the dead-man",
  ] as const)(
    "at %s ends with every rail proved off, and says nothing of the rig",
    async (stopAt) => {
      const result = await runRigCheck({ board: "flasher-latch", seed: 5, changes: [], stopAt });
      expect(result).toMatchObject({
        cause: "stopped by the person",
        allProvedOff: true,
        findings: [],
        facts: null,
      });
    },
  );
});
