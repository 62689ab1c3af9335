/**
 * A controller that strides over what cannot matter says and switches the same, at the same microsecond, as one that
 * takes every scan and every byte by itself.
 */
import fc from "fast-check";
import { describe, expect, it } from "vitest";
import type { Fixture } from "../../../src/simulate/fixture.ts";
import { ModelledController } from "../../../src/simulate/modelled/modelled-controller.ts";
import { crcDigits } from "../../firmware-protocol/vector-runner.ts";
import { createScriptedFixture } from "../scripted-fixture.ts";

const STEP_V = 5 / 1024;
/** A board side whose relay is released. */
const OFF_CODE = 8;
/** Outputs that switch rails; lines move none here. */
const RAILS = 7;

/** What rails do: they stand at codes for a while, with a step of noise either way, then at others. */
interface Course {
  readonly codes: readonly number[];
  readonly ms: number;
}

interface Night {
  readonly courses: readonly Course[];
  readonly acts: readonly Act[];
  /** After so many questions the fixture answers that nothing is known. */
  readonly doubtEvery: number;
}

type Act =
  | { readonly kind: "send"; readonly body: string; readonly framed: boolean }
  | { readonly kind: "raw"; readonly text: string }
  | { readonly kind: "feed"; readonly late: number }
  | { readonly kind: "wait"; readonly ms: number }
  | { readonly kind: "reset" };

interface Told {
  readonly lines: string[];
  readonly switched: readonly { readonly mask: number; readonly atMs: number }[];
}

/** A function of the moment alone, as a fixture has to be that says when it is quiet. */
function rails({ courses, doubtEvery }: Night, tellsQuiet: boolean): Fixture {
  const fixture = createScriptedFixture();
  const ends = courses.map((_, at) =>
    courses.slice(0, at + 1).reduce((sum, { ms }) => sum + ms, 0),
  );
  const courseAt = (atMs: number): number => {
    const found = ends.findIndex((end) => atMs < end);
    return found < 0 ? courses.length - 1 : found;
  };
  const noise = (pin: number, atMs: number): number =>
    ((Math.imul(Math.round(1000 * atMs) + pin, 0x9e3779b1) >>> 16) % 3) - 1;
  let asked = 0;
  const moving: Fixture = {
    ...fixture,
    pinVolts(pin, _, atMs) {
      const mask = fixture.outputs.findLast((moved) => moved.atMs < atMs)?.mask ?? 0;
      const isOff = pin % 2 === 1 && ((mask >> (pin >> 1)) & 1) === 0;
      const stands = isOff ? OFF_CODE : (courses[courseAt(atMs)]?.codes[pin % 6] ?? 0);
      return (stands + noise(pin, atMs) + 0.5) * STEP_V;
    },
  };
  if (!tellsQuiet) return moving;
  return Object.assign(moving, {
    quietUntilMs(atMs: number): number {
      asked += 1;
      if (asked % doubtEvery === 0) return atMs;
      const moves = fixture.outputs.filter((moved) => moved.atMs >= atMs).length;
      const masks = fixture.outputs.slice(-moves - 1).map(({ mask }) => mask & RAILS);
      if (moves > 0 && masks.some((mask) => mask !== masks[0])) return atMs;
      const course = courseAt(atMs);
      return course === courses.length - 1 ? Number.POSITIVE_INFINITY : (ends[course] ?? 0) - 1e-6;
    },
  });
}

function live(night: Night, strides: boolean): Told {
  const fixture = rails(night, strides) as Fixture & Pick<Told, "switched"> & { outputs: never[] };
  const controller = new ModelledController(fixture, { strides });
  const lines: string[] = [];
  const send = (text: string): void => {
    const bytes = Buffer.from(text, "latin1");
    if (strides) controller.send(bytes);
    else for (const byte of bytes) controller.send(Uint8Array.of(byte));
  };
  const pass = (ms: number): void => {
    const untilMs = controller.nowMs() + ms;
    while (controller.nowMs() < untilMs) {
      controller.advance(strides ? untilMs : Math.min(untilMs, controller.nowMs() + 1));
      const text = controller.takeSent().toString("latin1");
      if (text !== "") lines.push(`${controller.nowMs().toFixed(3)} ${text}`);
    }
  };
  let tag = 0;
  const framed = (body: string): string => {
    tag = (tag + 1) % 256;
    const head = `>${tag.toString(16).toUpperCase().padStart(2, "0")}|${body}|`;
    return `${head}${crcDigits(head)}\n`;
  };
  pass(20);
  for (const act of night.acts) {
    if (act.kind === "wait") pass(act.ms);
    else if (act.kind === "reset") controller.reset("WDT");
    else if (act.kind === "raw") send(act.text);
    else if (act.kind === "send") send(act.framed ? framed(act.body) : `${act.body}\n`);
    else
      send(
        framed(`SYST:FEED ${Math.max(0, Math.floor((controller.nowMs() - 10) / 3) - act.late)}`),
      );
  }
  pass(1500);
  return { lines, switched: fixture.outputs };
}

/** So near to each other that rails often stand next to a limit. */
const code = fc.integer({ min: 497, max: 503 });
const LIST = "(@1,2,7:9,22)";
const body = fc.oneof(
  fc.constantFrom(
    "ROUT:CLOS (@1)",
    "ROUT:CLOS (@2)",
    "ROUT:CLOS (@3)",
    "ROUT:OPEN (@3)",
    "ROUT:OPEN:ALL",
    "TRIP:ARM ON",
    "TRIP:ARM OFF",
    "TRIP:STAT?",
    "TRIP:CLE",
    "SYST:BOOT?",
    "SYST:OFF?",
    "SYST:ERR?",
    "SYST:COUN?",
    "SYST:LINK?",
    "SYST:DEAD 100",
    "*OPC?",
    "*ESR?",
    "MEAS:RAIL?",
    "MEAS:RAIL:TRA? 4",
    "MEAS:RAIL:TRA? 6",
    `MEAS:ONCE? ${LIST}`,
    "MEAS:CODE? 16,(@1,7)",
    "MEAS:SPRE? 5,(@8)",
    "MEAS:TRA 20,5000,(@7,8)",
    "MEAS:TRA:STOP",
    `MEAS:STEP? 24,8,2000,${LIST}`,
    "ROUT:PULS 20000,16,16",
    "BLOC:STEP 8,8,3000",
    "BLOC:CHAN (@7,8)",
    "BLOC:RUN 5",
    "BLOC:STOP",
  ),
  fc
    .tuple(fc.integer({ min: 1, max: 6 }), code, fc.boolean())
    .map(([channel, near, above]) => `TRIP:LIM ${channel},${above ? `1,${near}` : `${near},1022`}`),
  fc.constantFrom("TRIP:LIM 4,1,1022", "TRIP:LIM 4,0,1000", "SYST:DEAD:FALL 1000"),
);
const act: fc.Arbitrary<Act> = fc.oneof(
  {
    weight: 6,
    arbitrary: fc.record({ kind: fc.constant("send" as const), body, framed: fc.boolean() }),
  },
  {
    weight: 4,
    arbitrary: fc.record({
      kind: fc.constant("feed" as const),
      late: fc.integer({ min: 0, max: 70 }),
    }),
  },
  {
    weight: 5,
    arbitrary: fc.record({
      kind: fc.constant("wait" as const),
      ms: fc.oneof(
        fc.double({ min: 0.02, max: 4, noNaN: true }).map((ms) => Math.round(ms * 1000) / 1000),
        fc.integer({ min: 1, max: 700 }),
        fc.constantFrom(3, 300, 600, 10_500),
      ),
    }),
  },
  {
    weight: 2,
    arbitrary: fc.record({
      kind: fc.constant("raw" as const),
      text: fc.constantFrom(
        "MEAS:RAIL?;SYST:OFF?\n",
        "MEAS:RA\x18IL?\n",
        "\x18",
        `SYST:ERR?${" ".repeat(200)}\n`,
        "SYST:BOOT?\nSYST:OFF?\nMEAS:RAIL?\n",
        `*OPC?\n${"SYST:BOOT?\n".repeat(14)}`,
        "\n\r\nSYST:ERR?",
      ),
    }),
  },
  { weight: 1, arbitrary: fc.constant({ kind: "reset" as const }) },
);
const ENERGISED: readonly Act[] = [
  "ROUT:CLOS (@1)",
  "ROUT:CLOS (@2)",
  "TRIP:LIM 4,1,1022",
  "TRIP:ARM ON",
  "ROUT:CLOS (@3)",
].flatMap((order): Act[] => [
  { kind: "send", body: order, framed: true },
  { kind: "wait", ms: 5 },
]);
const night: fc.Arbitrary<Night> = fc.record({
  courses: fc.array(
    fc.record({
      codes: fc.array(code, { minLength: 6, maxLength: 6 }),
      ms: fc.integer({ min: 1, max: 3000 }),
    }),
    { minLength: 1, maxLength: 6 },
  ),
  acts: fc
    .tuple(fc.boolean(), fc.array(act, { minLength: 1, maxLength: 40 }))
    .map(([energised, acts]) => (energised ? [...ENERGISED, ...acts] : acts)),
  doubtEvery: fc.integer({ min: 2, max: 9 }),
});

describe("a modelled controller that strides", () => {
  it("says and switches what one does that takes every scan and byte by itself", () => {
    fc.assert(
      fc.property(night, (one) => {
        expect(live(one, true)).toEqual(live(one, false));
      }),
      { numRuns: 250 },
    );
  });
});
