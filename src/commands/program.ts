/** The command line: which command, which options. Each command is loaded only when it is asked for. */
import { join } from "node:path";
import { Command, CommanderError, Option } from "commander";
import { createRealClock } from "../clock/real-clock.ts";
import type { RawConfirmOptions } from "./confirm-off.ts";
import { EXIT, EXIT_STATUS_HELP } from "./exit-status.ts";
import { packageFolder, packageVersion } from "./package-folder.ts";
import type { RawProveOptions } from "./prove/prove-options.ts";
import type { RawServeOptions } from "./serve-bench.ts";
import { guardStandardStreams, type StandardStreams } from "./standard-streams.ts";
import { UsageError } from "./usage-error.ts";

const defaultProofFolder = join(packageFolder, "sequences/flasher-latch");

/**
 * Run the program.
 *
 * @param args arguments after the program's name
 * @returns the exit status; standard streams are flushed
 */
export async function runProgram(args: readonly string[]): Promise<number> {
  const streams = guardStandardStreams();
  const clock = createRealClock();
  let status: number = EXIT.pass;
  const program = buildProgram(streams, (left) => {
    status = left;
  });
  try {
    await program.parseAsync([...args], { from: "user" });
  } catch (error) {
    status = statusOfError(error);
  }
  await streams.flush(clock);
  return status;
}

/** What went wrong, said once on standard error, and the status that goes with it. */
function statusOfError(error: unknown): number {
  // Help and version come this way too; commander has said what there is to say.
  if (error instanceof CommanderError) return error.exitCode === 0 ? EXIT.pass : EXIT.wrongUsage;
  if (error instanceof UsageError) {
    process.stderr.write(`holdfast: ${error.message}\n`);
    return EXIT.wrongUsage;
  }
  const message = error instanceof Error ? error.message : String(error);
  process.stderr.write(`holdfast: ${message}\n`);
  return EXIT.trouble;
}

function buildProgram(streams: StandardStreams, leave: Leave): Command {
  const program = new Command("holdfast")
    .description(
      "Prove a hand-built logic board: power it in order, warm it, step it, hold it, read volts.",
    )
    .version(packageVersion(), "-V, --version", "print the version")
    .helpOption("-h, --help", "print this help")
    .helpCommand("help [command]", "print the help of a command")
    .addHelpText("after", `\n${EXIT_STATUS_HELP}`)
    .showHelpAfterError('See "holdfast --help".')
    .exitOverride()
    .configureOutput({
      outputError: (text, write) => write(text.replace(/^error: /, "holdfast: ")),
    });
  addProve(program, streams, leave);
  addCheck(program, leave);
  addReplay(program, leave);
  addServeBench(program, leave);
  addConfirmOff(program, leave);
  return program;
}

type Leave = (status: number) => void;

function addProve(program: Command, streams: StandardStreams, leave: Leave): void {
  program
    .command("prove [folder]", { isDefault: true })
    .description("prove one unit of a board (the command when none is named)")
    .option("--port <path>", "serial port of a real controller; else the emulated bench")
    .option("--seed <n>", "seed of the emulated bench")
    .option("--pace <n>", "emulated seconds per second at most; 1 is real time")
    .option("--unit <serial>", "serial of the unit under proof")
    .option("--runs <dir>", "folder for journals and records", "runs")
    .option("--plain", "plain lines instead of the screen")
    .option("--json", "one JSON object per event")
    .option("--ascii", "draw with plain ASCII only")
    .option("--no-color", "no colour; NO_COLOR does the same")
    .option("--yes", "do not wait for a key at the cautions")
    .addOption(faultOption())
    .action(async (folder: string | undefined, raw: RawProveOptions) => {
      const { readProveOptions } = await import("./prove/prove-options.ts");
      const options = readProveOptions(folder, raw, {
        environment: process.env,
        stdoutIsTerminal: process.stdout.isTTY === true,
        defaultFolder: defaultProofFolder,
      });
      const { proveCommand } = await import("./prove.ts");
      leave(await proveCommand(options, streams));
    });
}

function addCheck(program: Command, leave: Leave): void {
  program
    .command("check [paths...]")
    .description("check the files of a proof and say what they mean; energises nothing")
    .action(async (paths: string[]) => {
      const { checkCommand } = await import("./check.ts");
      leave(
        await checkCommand(paths, {
          out: (line) => process.stdout.write(`${line}\n`),
          error: (line) => process.stderr.write(`${line}\n`),
        }),
      );
    });
}

function addReplay(program: Command, leave: Leave): void {
  program
    .command("replay <journal>")
    .description("fold a journal again: the same lines, verdict and exit status")
    .action(async (path: string) => {
      const { replayCommand } = await import("./replay.ts");
      leave(
        replayCommand(path, {
          out: (line) => process.stdout.write(`${line}\n`),
          error: (line) => process.stderr.write(`${line}\n`),
        }),
      );
    });
}

function addServeBench(program: Command, leave: Leave): void {
  program
    .command("serve-bench [folder]")
    .description("serve the emulated bench on a pseudo-terminal, for prove --port")
    .option("--pace <n>", "emulated seconds per second", "1")
    .option("--seed <n>", "seed of the simulation", "1")
    .option("--powered <from>", "5 V of the controller: bus or separate", "bus")
    .option("--link <path>", "symbolic link to keep on the terminal")
    .option("--log <path>", "file for what the bench itself sees, one JSON object a line")
    .option("--stop-with-input", "stop when standard input ends")
    .addOption(faultOption())
    .action(async (folder: string | undefined, raw: RawServeOptions) => {
      const { readServeOptions, serveBenchCommand } = await import("./serve-bench.ts");
      leave(await serveBenchCommand(readServeOptions(folder ?? defaultProofFolder, raw)));
    });
}

function addConfirmOff(program: Command, leave: Leave): void {
  program
    .command("confirm-off <rig>")
    .description("clear the block of a rig after its rails were measured by hand")
    .requiredOption("--by <initials>", "who measured")
    .addOption(
      new Option("--volts <rail=volts>", "what was measured, one for each rail, repeatable")
        .argParser(collect)
        .makeOptionMandatory(),
    )
    .option("--runs <dir>", "folder for journals and records", "runs")
    .action(async (rig: string, raw: RawConfirmOptions) => {
      const { confirmOffCommand } = await import("./confirm-off.ts");
      leave(confirmOffCommand(rig, raw));
    });
}

function faultOption(): Option {
  const about = "fault of the emulated bench, PART.PARAMETER=VALUE[@MS], repeatable";
  return new Option("--fault <change>", about).argParser(collect);
}

function collect(value: string, before: string[] | undefined): string[] {
  return [...(before ?? []), value];
}
