/**
 * A fixture of steady volts made from a plan: rails follow their relays at once, lines drive their nets, and
 * nothing moves between two switchings. For what is to be measured without the cost of a board.
 */
import type { Plan, PlannedChannel } from "../../src/events/plan.ts";
import type { Fixture } from "../../src/simulate/fixture.ts";

const CHANNELS = 22;
const LOW_V = 4;
const HIGH_V = 46;

export function steadyFixture(plan: Plan): Fixture {
  let pins = new Float64Array(CHANNELS + 1);
  let before = pins;
  let mask = 0;
  let movedMs = 0;
  const isOn = (output: number): boolean => ((mask >> (output - 1)) & 1) === 1;
  const isHigh = (name: string): boolean =>
    plan.lines.some(({ line, output }) => line === name && isOn(output));

  const nodeV = ({ reads }: PlannedChannel): number => {
    if (reads.kind === "rail") {
      const rail = plan.rails.find((one) => one.rail === reads.rail);
      return rail !== undefined && (reads.at === "source" || isOn(rail.output)) ? rail.nominalV : 0;
    }
    if (reads.kind === "reference") return reads.volts;
    if (reads.kind === "line") return isHigh(reads.line) ? HIGH_V : 0;
    if (reads.kind === "net") return plan.lines.some(({ line }) => isHigh(line)) ? HIGH_V : LOW_V;
    return 0;
  };
  const settle = (): void => {
    for (const channel of plan.channels) pins[channel.number] = pinVolts(channel, nodeV(channel));
  };
  settle();
  return {
    setOutputs(next, atMs) {
      mask = next;
      movedMs = atMs;
      before = pins;
      pins = new Float64Array(CHANNELS + 1);
      settle();
    },
    pinVolts(pin, muxAddress, atMs) {
      const channel = pin < 6 ? pin + 1 : (pin === 6 ? 7 : 15) + muxAddress;
      return (atMs < movedMs ? before : pins)[channel] ?? 0;
    },
    setCoilSupply: () => undefined,
    change: () => undefined,
    quietUntilMs: () => Number.POSITIVE_INFINITY,
    railVolts: () => ({ heater: 0, bias: 0, plate: 0 }),
    nodeVolts: () => ({}),
  };
}

/** Node-top-pin, pin-bottom-common, pin-pullUp-reference, by Kirchhoff's current law. */
function pinVolts({ divider, referenceV }: PlannedChannel, nodeV: number): number {
  const { topOhm, bottomOhm, pullUpOhm } = divider;
  const pullUp = pullUpOhm === null ? 0 : 1 / pullUpOhm;
  return (nodeV / topOhm + referenceV * pullUp) / (1 / topOhm + 1 / bottomOhm + pullUp);
}
