/**
 * Measured figures: `npm run -s figures -- NAME [--full]` prints JSON lines
 * {name, value, unit, limit, holds}, all measured in this run, and exits 1 if one does not hold.
 */
import type { Figure, FigureModule } from "./figure.ts";

const modules: Readonly<Record<string, () => Promise<{ readonly figure: FigureModule }>>> = {
  "main-job": () => import("./main-job.ts"),
  deterministic: () => import("./deterministic.ts"),
  "seeded-faults": () => import("./seeded-faults.ts"),
  boards: () => import("./boards.ts"),
  "first-board": () => import("./first-board.ts"),
  stepping: () => import("./stepping.ts"),
  throughput: () => import("./throughput.ts"),
  "modelled-bench": () => import("./modelled-bench.ts"),
  "device-timing": () => import("./device-timing.ts"),
  "protocol-vectors": () => import("./protocol-vectors.ts"),
  "power-loss": () => import("./power-loss.ts"),
  "wire-noise": () => import("./wire-noise.ts"),
  fuzz: () => import("./fuzz.ts"),
  "false-accept": () => import("./false-accept.ts"),
  calibration: () => import("./calibration.ts"),
  coverage: () => import("./coverage.ts"),
  dividers: () => import("./dividers.ts"),
  "certified-statistics": () => import("./certified-statistics.ts"),
  "control-charts": () => import("./control-charts.ts"),
  "trip-latency": () => import("./trip-latency.ts"),
  "start-up": () => import("./start-up.ts"),
  simulation: () => import("./simulation.ts"),
  mutations: () => import("./mutations.ts"),
  page: () => import("./page.ts"),
  scale: () => import("./scale.ts"),
  screen: () => import("./screen.ts"),
  "one-event": () => import("./one-event.ts"),
  night: () => import("./night.ts"),
  "night-fixture": () => import("./night-fixture.ts"),
  "rig-faults": () => import("./rig-faults.ts"),
  "weak-tube": () => import("./weak-tube.ts"),
  "safe-ends": () => import("./safe-ends.ts"),
  "idle-cost": () => import("./idle-cost.ts"),
  survival: () => import("./survival.ts"),
  kill: () => import("./kill.ts"),
  tamper: () => import("./tamper.ts"),
  "third-party": () => import("./third-party.ts"),
  "history-scale": () => import("./history-scale.ts"),
  agreement: () => import("./agreement.ts"),
  benchmarks: () => import("./benchmarks.ts"),
  "grading-speed": () => import("./grading-speed.ts"),
  rebuild: () => import("./rebuild.ts"),
  "coverage-logic": () => import("./coverage-logic.ts"),
  "generation-speed": () => import("./generation-speed.ts"),
};

const args = process.argv.slice(2);
const full = args.includes("--full");
const names = args.filter((arg) => !arg.startsWith("--"));
const unknown = names.filter((name) => !(name in modules));
if (names.length === 0 || unknown.length > 0) {
  const known = Object.keys(modules).join(", ");
  process.stderr.write(
    `${unknown.length > 0 ? `No figure is called ${unknown.join(", ")}. ` : ""}Name one of: ${known}; --full runs the whole count.\n`,
  );
  process.exit(2);
}

let allHold = true;
const report = (figure: Figure): void => {
  allHold &&= figure.holds;
  process.stdout.write(`${JSON.stringify(figure)}\n`);
};
for (const name of names) {
  const load = modules[name];
  if (load)
    await (await load()).figure({ full, report, say: (text) => process.stderr.write(`${text}\n`) });
}
process.exit(allHold ? 0 : 1);
