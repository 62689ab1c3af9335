/**
 * Lines that nobody would send: millions against the parser built for this machine with sanitizers, and a part
 * of them through the emulated chip itself, whose stack and memory are read off beside it. Needs make and gcc.
 */
import { execFileSync } from "node:child_process";
import { resolve } from "node:path";
import { crc16 } from "../../src/bench/crc16.ts";
import { EmulatedWire } from "./emulated-wire.ts";
import type { FigureContext } from "./figure.ts";
import { seededChance } from "./seeded-chance.ts";

const firmware = resolve(import.meta.dirname, "../../firmware-protocol/firmware");
const HOST_LINES = 10_000_000;
const HOST_LINES_FULL = 100_000_000;
const CHIP_LINES = 25_000;
const CHIP_LINES_FULL = 1_000_000;
/** After so many lines the chip starts afresh, or latches would refuse nearly everything. */
const LINES_A_LIFE = 250;
const STACK_FREE_MIN = 32;
/** Of the output that drives a line or rail, outputs that a spoiled line must leave alone. */
const COMMANDS = [
  "ROUT:CLOS (@1)",
  "ROUT:CLOS (@4,5,8)",
  "ROUT:SET 248,24",
  "ROUT:SET 248,248",
  "ROUT:PULS 90,8,8",
  "ROUT:STAG 50,24,24,8",
  "ROUT:OPEN:ALL",
  "TRIP:ARM ON",
  "TRIP:LIM 4,300,500",
  "TRIP:CLE",
  "MEAS:CODE? 8,(@1,9,22)",
  "MEAS:ONCE? (@1:16)",
  "MEAS:STEP? 8,8,500,(@7:14)",
  "MEAS:RAIL?",
  "MEAS:RAIL:TRA? 6",
  "MEAS:TRA 9,1000,(@9)",
  "MEAS:BURS 9,8,8,0",
  "BLOC:STEP 8,8,500",
  "BLOC:CHAN (@7:14)",
  "BLOC:RUN 3",
  "BLOC?",
  "SYST:FEED 5",
  "SYST:ERR?",
  "SYST:COUN?",
  "SYST:LINK?",
  "MEM:DATA? 0,16",
  "MEM:STAT?",
  "*TST?",
  "*IDN?",
] as const;

export async function figure({ full, report, say }: FigureContext): Promise<void> {
  const lines = full ? HOST_LINES_FULL : HOST_LINES;
  execFileSync("make", ["-s", "-C", firmware, "build/fuzz"], { stdio: ["ignore", 2, 2] });
  const said = execFileSync(resolve(firmware, "build/fuzz"), [String(lines), "20261127"], {
    encoding: "utf8",
  }).trim();
  say(said);
  report({
    name: "fuzz lines on the host build with address and undefined-behaviour sanitizers",
    value: lines,
    unit: "lines; none hung, none out of bounds, none that cannot be trusted closed an output",
    limit: `>= ${HOST_LINES}`,
    holds: said.includes("nothing hung"),
  });
  const chip = throughChip(full ? CHIP_LINES_FULL : CHIP_LINES);
  report({
    name: "fuzz lines through the emulated chip",
    value: chip.lines,
    unit: `lines, ${chip.spoiled} of them with a wrong checksum`,
    limit: `= ${full ? CHIP_LINES_FULL : CHIP_LINES}`,
    holds: chip.lines === (full ? CHIP_LINES_FULL : CHIP_LINES),
  });
  report({
    name: "fuzz outputs closed by a line with a wrong checksum",
    value: chip.switched,
    unit: "on the emulated chip",
    limit: "= 0",
    holds: chip.switched === 0,
  });
  report({
    name: "fuzz restarts and lines without an answer",
    value: chip.hangs,
    unit: "on the emulated chip",
    limit: "= 0",
    holds: chip.hangs === 0,
  });
  report({
    name: "fuzz least memory between data and stack",
    value: chip.stackFree,
    unit: "bytes of 2048 never reached by the stack, under all of it",
    limit: `>= ${STACK_FREE_MIN}`,
    holds: chip.stackFree >= STACK_FREE_MIN,
  });
}

interface Outcome {
  lines: number;
  spoiled: number;
  switched: number;
  hangs: number;
  stackFree: number;
}

function throughChip(lines: number): Outcome {
  const chance = seededChance("fuzz through the chip");
  const below = (limit: number) => Math.floor(limit * chance());
  const outcome: Outcome = {
    lines: 0,
    spoiled: 0,
    switched: 0,
    hangs: 0,
    stackFree: Number.POSITIVE_INFINITY,
  };
  let wire = new EmulatedWire(1);
  for (; outcome.lines < lines; outcome.lines += 1) {
    if (outcome.lines % LINES_A_LIFE === LINES_A_LIFE - 1) {
      wire.run(50);
      wire.takeReplies();
      outcome.stackFree = Math.min(outcome.stackFree, Number(wire.ask("SYST:STAC?")));
      wire = new EmulatedWire(2 + outcome.lines);
    }
    const body = Buffer.from(COMMANDS[below(COMMANDS.length)] ?? "", "latin1");
    for (let change = below(4); change > 0; change -= 1) {
      body[below(body.length)] = 0x20 + below(0x5f);
    }
    const head = Buffer.concat([Buffer.from(">2A|"), body, Buffer.from("|")]);
    const spoiled = below(4) === 0;
    const crc = crc16(head) ^ (spoiled ? 1 + below(0xffff) : 0);
    const digits = crc.toString(16).toUpperCase().padStart(4, "0");
    if (spoiled) {
      // At rest, so that whatever moves now was moved by this line.
      wire.run(40);
      outcome.spoiled += 1;
    }
    const before = wire.mask;
    wire.forget();
    wire.sendRaw(Buffer.concat([head, Buffer.from(`${digits}\n`)]));
    for (let waitedMs = 0; wire.takeReplies().length === 0; waitedMs += 1) {
      if (waitedMs > 500) {
        outcome.hangs += 1;
        break;
      }
      wire.run(1);
    }
    // The dead-man and an ordered off may open meanwhile; nothing else may move.
    if (spoiled && wire.edges.some(({ mask }) => (mask & ~before) !== 0)) outcome.switched += 1;
    if (wire.pushes.some((push) => push.startsWith("BOOT"))) outcome.hangs += 1;
  }
  return outcome;
}
