/** Simulated benches for a run: the real firmware on an emulated controller, or a model of it. */
import { BenchError } from "../../bench/bench-error.ts";
import { connectController } from "../../bench/connect-controller.ts";
import type { ControllerBench } from "../../bench/controller-bench.ts";
import type { WireTrace } from "../../bench/controller-link.ts";
import { wiringOfPlan } from "../../bench/wiring.ts";
import type { Plan } from "../../events/plan.ts";
import { problemLines } from "../../formats/problem.ts";
import type { PartChange } from "../../simulate/fixture.ts";
import type { ModelledBench } from "../../simulate/modelled-bench.ts";
import { firmwareText, openFixture } from "../emulated-fixture.ts";
import type { Proof } from "../proof-folder.ts";
import { UsageError } from "../usage-error.ts";
import { type ProofBench, wireLogAt } from "./proof-bench.ts";
import type { ProveOptions } from "./prove-options.ts";

export async function openEmulated(options: ProveOptions, proof: Proof): Promise<ProofBench> {
  const { seed, faults } = options;
  const fixture = await openFixture(proof, { seed, faults });
  const { openEmulatedBench } = await import("../../simulate/emulated-bench.ts");
  const bench = openEmulatedBench({
    fixture,
    hexText: firmwareText(),
    paceRatio: options.pace,
    seed,
  });
  // Files are still read and the screen still loads: none of that may take emulated time.
  const release = bench.clock.hold();
  const { close, ...log } = wireLogAt(options.wireLog, bench.clock);
  return {
    ...log,
    name: bench.port.name,
    port: bench.port,
    clock: bench.clock,
    seed,
    release,
    hold: () => bench.clock.hold(),
    ...(await handsOn((change) => bench.controls.change(change))),
    // A pace that was asked for stands.
    keepRealTime: (keep) => bench.clock.setPace(options.pace ?? (keep ? 1 : null)),
    findAgain: null,
    dispose: () => {
      bench.dispose();
      close();
    },
  };
}

export async function openModelled(options: ProveOptions, proof: Proof): Promise<ProofBench> {
  const { seed } = options;
  const bench = await modelledBench(options, proof);
  const release = bench.clock.hold();
  const { close, ...log } = wireLogAt(options.wireLog, bench.clock);
  return {
    ...log,
    name: bench.port.name,
    port: bench.port,
    clock: bench.clock,
    seed,
    release,
    hold: () => bench.clock.hold(),
    ...(await handsOn((change) => bench.change(change))),
    keepRealTime: (keep) => bench.clock.setPace(options.pace ?? (keep ? 1 : null)),
    findAgain: (_, plan, signal) => connectedAgain(bench, plan, { signal, ...log }),
    dispose: () => {
      bench.dispose();
      close();
    },
  };
}

/** For a night, the quick fixture with what its scenario has; else everything solved as it goes. */
async function modelledBench(options: ProveOptions, proof: Proof): Promise<ModelledBench> {
  const { seed, faults, pace: paceRatio } = options;
  const night = options.soak?.night ?? null;
  if (night === null) {
    const fixture = await openFixture(proof, { seed, faults });
    const { openModelledBench } = await import("../../simulate/modelled-bench.ts");
    return openModelledBench({ fixture, paceRatio });
  }
  const { openNightBench, readScenario } = await import("../night-bench.ts");
  if (night === "") return openNightBench(proof, { seed, faults, scenario: null, paceRatio });
  const read = await readScenario(night, proof);
  if (!read.ok) throw new UsageError(problemLines(read.problems).join("\n"));
  return openNightBench(proof, { seed, faults, scenario: read.scenario, paceRatio });
}

/** The cable of a modelled bench is put back some time after it was pulled. */
const LOOK_EVERY_MS = 500;
const LOOK_MS_MAX = 10 * 60_000;

async function connectedAgain(
  bench: ModelledBench,
  plan: Plan,
  asked: { readonly signal: AbortSignal; readonly trace?: WireTrace },
): Promise<ControllerBench> {
  const { clock, link } = bench;
  const untilMs = clock.nowMs() + LOOK_MS_MAX;
  while (!link.canOpen) {
    if (clock.nowMs() >= untilMs) {
      throw new BenchError("link-lost", { port: bench.port.name, reason: "the cable stayed out" });
    }
    await clock.delay(LOOK_EVERY_MS, asked.signal);
  }
  return connectController({ port: link.open(), clock, wiring: wiringOfPlan(plan), ...asked });
}

/** What a person's hands do at a real bench, done to the fixture. */
async function handsOn(
  change: (change: PartChange) => void,
): Promise<Pick<ProofBench, "clip" | "touch" | "supplies">> {
  const { settableSupplies } = await import("../../simulate/settable-supplies.ts");
  return {
    supplies: settableSupplies(change),
    clip: (channel, volts) => change(clipped(channel, volts)),
    touch: (point, on) =>
      change({ part: `touch.${point}`, parameter: "on", value: on ? 1 : 0, atMs: null }),
  };
}

function clipped(channel: string, volts: number | null): PartChange {
  const part = `calibrator.${channel}`;
  return volts === null
    ? { part, parameter: "off", value: 1, atMs: null }
    : { part, parameter: "volts", value: volts, atMs: null };
}
