/** `calibrate`: gain and offset of the channels of a rig against a reference meter. */
import type { RawCalibrateOptions } from "../calibrate/calibrate-options.ts";
import type { AskedProveOptions } from "../prove/prove-options.ts";
import { type AddCommand, askedOfProof, consoleIo, faultOption } from "./command-context.ts";

type Asked = RawCalibrateOptions & Omit<AskedProveOptions, keyof RawCalibrateOptions>;

export const addCalibrate: AddCommand = (program, { leave }) => {
  program
    .command("calibrate [folder]")
    .description(
      "find gain and offset of each channel against a reference meter; no rail is switched on",
    )
    .option(
      "--port <path>",
      "serial port of a real controller, by path or id; else the emulated bench",
    )
    .option("--channels <names>", "these channels only, apart by commas")
    .option(
      "--into <folder>",
      "folder whose calibrations the file goes into; else the folder itself",
    )
    .option("--meter <name>", "reference meter: make, type and serial")
    .option("--meter-checked <day>", "day of the meter's own last check")
    .option("--meter-percent <n>", "what it may be off, percent of the reading")
    .option("--meter-volts <n>", "what it may be off besides, volts")
    .option(
      "--meter-port <path>",
      "serial port of a meter that answers SCPI; else its volts are typed",
    )
    .option("--meter-baud <n>", "speed of that port, 9600 when left out")
    .option("--by <initials>", "who does it")
    .option("--expires <day>", "first day on which it no longer counts; else in a year")
    .option("--points <file>", "CSV of channels,volts: which leads to join at which volts")
    .option("--codes <file>", "CSV of channel,volts,code,count,min,max: no bench is needed")
    .option("--resume <draft>", "go on with points that were kept")
    .option("--keep", "write a copy into the controller")
    .option("--seed <n>", "seed of the emulated bench")
    .option("--yes", "with --points: do not wait for Enter at each setting")
    .addOption(faultOption())
    .action(async (folder: string | undefined, raw: Asked) => {
      const { readCalibrateOptions } = await import("../calibrate/calibrate-options.ts");
      const { calibrateCommand } = await import("../calibrate.ts");
      const { lineTalker } = await import("../write/line-talker.ts");
      const { createRealClock } = await import("../../clock/real-clock.ts");
      const { port, seed, yes, fault, ...own } = raw;
      const asked: AskedProveOptions = {
        color: true,
        ...(port === undefined ? {} : { port }),
        ...(seed === undefined ? {} : { seed }),
        ...(yes === undefined ? {} : { yes }),
        ...(fault === undefined ? {} : { fault }),
      };
      const prove = await askedOfProof(folder, asked, "proof");
      const options = readCalibrateOptions(own, prove, createRealClock().wallTime());
      const talker = lineTalker(process);
      try {
        leave(await calibrateCommand(options, { talker, io: consoleIo }));
      } finally {
        talker.close();
      }
    });
};
