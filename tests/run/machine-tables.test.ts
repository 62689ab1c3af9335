import { describe, expect, it } from "vitest";
import { holdMachine } from "../../src/run/hold.machine.ts";
import { passMachine } from "../../src/run/pass.machine.ts";
import { powerMachine } from "../../src/run/power.machine.ts";
import { runMachine } from "../../src/run/run.machine.ts";
import { supervisionMachine } from "../../src/run/supervision.machine.ts";
import { warmUpMachine } from "../../src/run/warm-up.machine.ts";
import { statesOf, tableOf } from "./machine-table.ts";

const machines = [
  runMachine,
  powerMachine,
  warmUpMachine,
  passMachine,
  holdMachine,
  supervisionMachine,
];

describe.each(machines.map((machine) => ({ name: machine.id, machine })))(
  "machine $name",
  ({ name, machine }) => {
    it("has the transitions its table shows", async () => {
      await expect(tableOf(machine)).toMatchFileSnapshot(`../golden/machines/${name}.txt`);
    });

    it("gives every invoked actor a way on and a way out", () => {
      for (const node of statesOf(machine)) {
        for (const { id } of node.invoke) {
          const events = [...node.transitions.keys()];
          // Listening to the controller never ends by itself.
          if (!(name === "run" && node.path.length === 0)) {
            expect(events, node.path.join(".")).toContain(`xstate.done.actor.${id}`);
          }
          expect(events, node.path.join(".")).toContain(`xstate.error.actor.${id}`);
        }
      }
    });

    it("leaves no state with work of its own without a deadline", () => {
      const machinesInside = ["supervise", "power", "warmUp", "pass", "hold"];
      const endless = statesOf(machine)
        .filter((node) => node.invoke.length > 0 && node.path.length > 0)
        .filter((node) => !node.invoke.every(({ src }) => machinesInside.includes(String(src))))
        .filter((node) => node.after.length === 0)
        .map((node) => node.path.join("."));
      expect(endless).toEqual([]);
    });
  },
);
