/** MEASure and BLOCk of a modelled controller. */
import {
  type Answer,
  after,
  bare,
  CHANNELS,
  type CommandTable,
  type Controller,
  lines,
  mayTime,
} from "./command.ts";
import type { ParameterReader } from "./command-text.ts";
import { CHANNEL_US } from "./timed-side.ts";

const SAMPLE_US = 180;

function summed(
  controller: Controller,
  take: ParameterReader,
  sampleUs: (samples: number) => readonly number[],
): Answer {
  const samples = take.integer(1, 64);
  take.comma();
  const channels = take.list(CHANNELS, 5);
  take.end();
  controller.timed.assertConverterFree();
  const found = channels.map(() => ({ sum: 0, min: 1023, max: 0 }));
  const offsets = sampleUs(samples);
  const eachUs = offsets.at(-1) ?? 0;
  for (const [at, channel] of channels.entries()) {
    for (const offset of offsets) {
      controller.agenda.after(at * eachUs + offset, () => {
        const code = controller.code(channel);
        const one = found[at];
        if (one === undefined) return;
        one.sum += code;
        one.min = Math.min(one.min, code);
        one.max = Math.max(one.max, code);
      });
    }
  }
  return after(controller, channels.length * eachUs + 1, () =>
    found.map(({ sum, min, max }) => `${sum}:${min}:${max}`).join(","),
  );
}

function stepOf(take: ParameterReader) {
  const [mask, states] = lines(take);
  take.comma();
  return { mask, states, settleUs: take.integer(0, 65_535) };
}

export const MEASURE_COMMANDS: CommandTable = [
  [
    "MEASure:CODE?",
    (controller, take) =>
      summed(controller, take, (samples) =>
        Array.from({ length: samples }, (_, at) => (at + 2) * SAMPLE_US),
      ),
  ],
  [
    "MEASure:SPREad?",
    (controller, take) =>
      summed(controller, take, (samples) =>
        Array.from({ length: samples }, (_, at) => (at + 1) * 1000),
      ),
  ],
  [
    "MEASure:ONCE?",
    (controller, take) => {
      const channels = take.list(CHANNELS, 16);
      take.end();
      controller.timed.assertConverterFree();
      return after(controller, channels.length * CHANNEL_US, () =>
        channels.map((channel) => controller.code(channel)).join(","),
      );
    },
  ],
  [
    "MEASure:STEP?",
    (controller, take) => {
      const step = stepOf(take);
      take.comma();
      const channels = take.list(CHANNELS, 16);
      take.end();
      controller.timed.assertLinesFree();
      let found: string | null = null;
      controller.timed.step(step, channels, (codes) => {
        found = codes.join(",");
      });
      return () => found;
    },
  ],
  ["MEASure:RAIL?", bare(({ power }) => [power.trail.number % 65_536, ...power.codes].join(","))],
  [
    "MEASure:RAIL:TRAil?",
    ({ power }, take) => {
      const channel = take.integer(1, 6);
      take.end();
      return [power.trail.number % 65_536, ...power.trail.channel(channel)].join(",");
    },
  ],
  [
    "MEASure:TRAin",
    ({ timed }, take) => {
      const sets = take.integer(1, 65_535);
      take.comma();
      const us = take.integer(0, 10_000_000);
      take.comma();
      const channels = take.list(CHANNELS, 8);
      take.end();
      timed.train(sets, us, channels);
      return "";
    },
  ],
  [
    "MEASure:TRAin:STOP",
    ({ timed }, take) => {
      take.end();
      timed.stopTrain();
      return () => (timed.streamRuns ? null : "");
    },
  ],
  [
    "MEASure:BURSt",
    (controller, take) => {
      const channel = take.integer(7, CHANNELS);
      take.comma();
      const moves = lines(take);
      take.comma();
      const delayUs = take.integer(0, 60_000);
      take.end();
      mayTime(controller);
      let done = false;
      const taken = () => {
        done = true;
      };
      controller.timed.burst(channel, moves, { delayUs, taken });
      return () => (done ? "" : null);
    },
  ],
  [
    "BLOCk:CLEar",
    bare(({ timed }) => {
      timed.assertNoBlock();
      timed.steps = [];
      timed.channels = [];
      timed.blockDone = 0;
      return "";
    }),
  ],
  [
    "BLOCk:STEP",
    ({ timed }, take) => {
      const step = stepOf(take);
      take.end();
      timed.appendStep(step);
      return "";
    },
  ],
  [
    "BLOCk:CHANnels",
    ({ timed }, take) => {
      const channels = take.list(CHANNELS, 14);
      take.end();
      timed.assertNoBlock();
      timed.channels = channels;
      return "";
    },
  ],
  [
    "BLOCk:RUN",
    ({ timed }, take) => {
      const rounds = take.integer(1, 65_535);
      take.end();
      timed.runBlock(rounds);
      return "";
    },
  ],
  [
    "BLOCk:STOP",
    bare(({ timed }) => {
      timed.stopBlock("STOP");
      return () => (timed.blockRuns ? null : "");
    }),
  ],
  [
    "BLOCk?",
    bare(({ timed: { steps, channels, blockRuns, blockDone } }) =>
      [steps.length, channels.length, blockRuns ? 1 : 0, blockDone].join(","),
    ),
  ],
];
