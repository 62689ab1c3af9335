/**
 * A run as a value change dump, for any viewer of logic waves: lines as driven, nets by class, volts of
 * every channel, rails on and off.
 *
 * @source IEEE Std 1364-2005, clause 18 (four-state value change dump), by the checklist and examples
 * kept in tests/references/logic/vcd; the text of the standard was not at hand.
 */
import type { ChannelReading, JournalEntry, JudgedReading, RunEvent } from "../../events/events.ts";
import type { LevelClass, LevelContract } from "../../events/levels.ts";
import type { ExpectedClasses, Plan } from "../../events/plan.ts";
import { classOfReading } from "../../verdict/level-class.ts";
import {
  declarations,
  identifierCode,
  type VcdScope,
  vcdName,
  wordsFor,
} from "./vcd-declarations.ts";

type ReadingPart = Extract<RunEvent, { kind: "reading" }>["part"];

/** Low, high, and unknown: between, or not read. Nothing is undriven, so nothing is z. */
const BITS: Readonly<Record<LevelClass, string>> = { low: "0", high: "1", between: "x" };

export class VcdWriter {
  #codes: ReadonlyMap<string, string> = new Map();
  #wires: readonly string[] = [];
  #contract: LevelContract | null = null;
  #steps: Plan["steps"] = [];
  /** What each variable last was, and what it becomes at the moment being gathered. */
  readonly #last = new Map<string, string>();
  #next = new Map<string, string>();
  #ms = 0;
  #toldMs = -1;

  /** Text of an entry: of the one that opens the run the declarations, then changes. */
  take({ ms, event }: JournalEntry): string {
    if (event.kind === "run-opened") return this.#open(event);
    const told = ms === this.#ms ? "" : this.#flush();
    this.#ms = ms;
    this.#gather(event);
    return told;
  }

  /** What is left, and the time at which the recording ends. */
  end(): string {
    const told = this.#flush();
    return this.#toldMs === this.#ms || this.#codes.size === 0 ? told : `${told}#${this.#ms}\n`;
  }

  #open({ plan, run, wall, program }: Extract<RunEvent, { kind: "run-opened" }>): string {
    this.#contract = plan.contract;
    this.#steps = plan.steps;
    const scopes = scopesOf(plan);
    const names = scopes.flatMap(({ scope, variables }) =>
      variables.map(({ key, type }) => ({ key: `${scope} ${key}`, type })),
    );
    this.#codes = new Map(names.map(({ key }, at) => [key, identifierCode(at)]));
    this.#wires = names.flatMap(({ key, type }) => (type === "wire" ? [key] : []));
    for (const key of this.#wires) this.#last.set(key, "x");
    const head = declarations({
      date: wordsFor(wall),
      version: wordsFor(program),
      comment: wordsFor(`run ${run} of board ${plan.board.name}; volts to common`),
      board: vcdName(plan.board.name),
      scopes,
      codes: this.#codes,
    });
    const initial = this.#wires.map((key) => `x${this.#codes.get(key)}`);
    this.#toldMs = 0;
    return [head, "#0", "$dumpvars", ...initial, "$end", ""].join("\n");
  }

  #gather(event: RunEvent): void {
    switch (event.kind) {
      case "lines":
        for (const [line, level] of Object.entries(event.set)) {
          this.#set(`driven ${line}`, BITS[level]);
        }
        break;
      case "rail-switched":
        this.#set(`rails ${event.rail}`, event.on ? "1" : "0");
        break;
      case "step-begun":
        this.#set("step step", `b${(event.step + 1).toString(2)} `);
        break;
      case "watch":
      case "hand-reading":
        this.#takeReadings(event.readings);
        break;
      case "gate":
        this.#takeReadings([event.reading]);
        break;
      case "reading":
        this.#takeReadings(event.readings);
        this.#takeExpected(event.readings, this.#modelSays(event.step, event.part));
        break;
      case "freeze-turn":
        this.#takeReadings(event.readings);
        this.#takeExpected(event.readings, {});
        break;
      case "soak-readings":
      case "cycle-error":
        this.#takeReadings(event.rails);
        break;
    }
  }

  /** Beside each class of the file what the model says, where the dump has a wave for it. */
  #takeExpected(readings: readonly JudgedReading[], modelSays: ExpectedClasses): void {
    for (const { channel, expected } of readings) {
      this.#set(`expected ${channel}`, BITS[expected]);
      this.#set(`model ${channel}`, BITS[modelSays[channel] ?? expected]);
    }
  }

  #modelSays(index: number, part: ReadingPart): ExpectedClasses {
    const step = this.#steps[index];
    if (step === undefined) return {};
    const says = part === "flip" && step.kind === "hold" ? step.flip.modelSays : step.modelSays;
    return says ?? {};
  }

  #takeReadings(readings: readonly ChannelReading[]): void {
    const contract = this.#contract;
    if (contract === null) return;
    for (const reading of readings) {
      const { channel, volts } = reading;
      const found = classOfReading(reading, contract);
      this.#set(`read ${channel}`, found === null ? "x" : BITS[found]);
      this.#set(`unread ${channel}`, volts === null ? "1" : "0");
      // A real has no unknown: without a reading it keeps its last volts, and `unread` says so.
      if (volts !== null) this.#set(`volts ${channel}`, `r${Number(volts.toPrecision(9))} `);
    }
  }

  #set(key: string, value: string): void {
    if (this.#codes.has(key)) this.#next.set(key, value);
  }

  #flush(): string {
    const changed = [...this.#next].filter(([key, value]) => this.#last.get(key) !== value);
    this.#next = new Map();
    if (changed.length === 0) return "";
    for (const [key, value] of changed) this.#last.set(key, value);
    const lines = changed.map(([key, value]) => `${value}${this.#codes.get(key)}`);
    const time = this.#toldMs === this.#ms ? [] : [`#${this.#ms}`];
    this.#toldMs = this.#ms;
    return `${[...time, ...lines].join("\n")}\n`;
  }
}

/** A wave of the model's own is drawn only where it is not that of the file. */
function saysOtherwise(step: Plan["steps"][number]): boolean {
  return (
    step.modelSays !== undefined || (step.kind === "hold" && step.flip.modelSays !== undefined)
  );
}

function scopesOf(plan: Plan): VcdScope[] {
  const logic = plan.channels.filter(({ reads }) => reads.kind === "net" || reads.kind === "line");
  const nets = logic.filter(({ reads }) => reads.kind === "net");
  const wires = (names: readonly string[]) =>
    names.map((key) => ({ key, type: "wire" as const, size: 1 }));
  const names = (channels: Plan["channels"]) => channels.map(({ name }) => name);
  return [
    { scope: "driven", variables: wires(plan.lines.map(({ line }) => line)) },
    { scope: "read", variables: wires(names(logic)) },
    { scope: "expected", variables: wires(names(nets)) },
    ...(plan.steps.some(saysOtherwise) ? [{ scope: "model", variables: wires(names(nets)) }] : []),
    { scope: "rails", variables: wires(plan.rails.map(({ rail }) => rail)) },
    { scope: "unread", variables: wires(names(plan.channels)) },
    {
      scope: "volts",
      variables: names(plan.channels).map((key) => ({ key, type: "real" as const, size: 64 })),
    },
    { scope: "step", variables: [{ key: "step", type: "integer" as const, size: 32 }] },
  ];
}
