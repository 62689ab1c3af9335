/** ROUTe and TRIP of a modelled controller. */
import { bare, type CommandTable, lines, mayTime, OUTPUTS } from "./command.ts";
import { LINES } from "./power-side.ts";
import { Refusal } from "./refusal.ts";

function maskOf(outputs: readonly number[]): number {
  return outputs.reduce((mask, output) => mask | (1 << (output - 1)), 0);
}

export const POWER_COMMANDS: CommandTable = [
  [
    "ROUTe:CLOSe",
    ({ power, timed }, take) => {
      const mask = maskOf(take.list(OUTPUTS, OUTPUTS));
      take.end();
      if ((mask & LINES) !== 0) timed.assertLinesFree();
      power.change(mask, mask);
      return "";
    },
  ],
  [
    "ROUTe:CLOSe?",
    ({ power }, take) => {
      const outputs = take.list(OUTPUTS, OUTPUTS);
      take.end();
      return outputs.map((output) => (power.outputs >> (output - 1)) & 1).join(",");
    },
  ],
  [
    "ROUTe:OPEN",
    ({ power, timed }, take) => {
      const mask = maskOf(take.list(OUTPUTS, OUTPUTS));
      take.end();
      power.change(mask, 0);
      timed.dropEdge();
      timed.stopBlock("OPEN");
      return "";
    },
  ],
  [
    "ROUTe:OPEN:ALL",
    bare(({ power }) => {
      power.orderOff();
      return "";
    }),
  ],
  [
    "ROUTe:SET",
    ({ power, timed }, take) => {
      const [mask, states] = lines(take);
      take.end();
      timed.assertLinesFree();
      power.change(mask, states);
      return "";
    },
  ],
  [
    "ROUTe:PULSe",
    (controller, take) => {
      const us = take.integer(0, 10_000_000);
      take.comma();
      const [mask, states] = lines(take);
      if (us < 10 || mask === 0) throw new Refusal(-222);
      take.end();
      mayTime(controller);
      controller.timed.edges([mask, states], [mask, controller.power.outputs], us);
      return "";
    },
  ],
  [
    "ROUTe:STAGger",
    (controller, take) => {
      const us = take.integer(0, 1_000_000);
      take.comma();
      const [mask, states] = lines(take);
      take.comma();
      const later = take.integer(0, 255);
      if (mask === 0 || (later & ~mask) !== 0 || (us > 0 && us < 10)) throw new Refusal(-222);
      take.end();
      mayTime(controller);
      controller.timed.edges([mask & ~later, states], [later, states], us);
      return "";
    },
  ],
  [
    "TRIP:LIMit",
    ({ power }, take) => {
      const channel = take.integer(1, 6);
      take.comma();
      const low = take.integer(0, 1023);
      take.comma();
      const high = take.integer(0, 1023);
      take.end();
      power.setLimit(channel, low, high);
      return "";
    },
  ],
  [
    "TRIP:LIMit?",
    ({ power }, take) => {
      const channel = take.integer(1, 6);
      take.end();
      return (power.limits[channel - 1] ?? []).join(",");
    },
  ],
  [
    "TRIP:ARM",
    ({ power }, take) => {
      const on = take.switch();
      take.end();
      power.arm(on);
      return "";
    },
  ],
  ["TRIP:ARM?", bare(({ power }) => (power.armed ? "1" : "0"))],
  [
    "TRIP:STATe?",
    ({ power: { trip } }, take) => {
      take.end();
      return trip === null ? "0" : `${trip.channel},${trip.code},${trip.ms}`;
    },
  ],
  [
    "TRIP:CLEar",
    bare(({ power }) => {
      power.clearLatches();
      return "";
    }),
  ],
];
