/** The command line: which command, which options. Each command is loaded only when it is asked for. */
import { Command, CommanderError } from "commander";
import { createRealClock } from "../clock/real-clock.ts";
import { nearestName } from "../formats/nearest-name.ts";
import { addAttach } from "./command-line/attach.ts";
import { addBudget } from "./command-line/budget.ts";
import { addCalibrate } from "./command-line/calibrate.ts";
import { addCheck } from "./command-line/check.ts";
import type { AddCommand, CommandContext } from "./command-line/command-context.ts";
import { addCompare } from "./command-line/compare.ts";
import { addCompletion } from "./command-line/completion.ts";
import { addConfirmOff } from "./command-line/confirm-off.ts";
import { addCure } from "./command-line/cure.ts";
import { addDivider } from "./command-line/divider.ts";
import { addDraw } from "./command-line/draw.ts";
import { addDrift } from "./command-line/drift.ts";
import { addExpect } from "./command-line/expect.ts";
import { addExport } from "./command-line/export.ts";
import { addFollow } from "./command-line/follow.ts";
import { addGenerate } from "./command-line/generate.ts";
import { addGrade } from "./command-line/grade.ts";
import { addHand } from "./command-line/hand.ts";
import { addHistory } from "./command-line/history.ts";
import { addHowLong } from "./command-line/how-long.ts";
import { addIdentify } from "./command-line/identify.ts";
import { addKey } from "./command-line/key.ts";
import { addNote } from "./command-line/note.ts";
import { addPage } from "./command-line/page.ts";
import { addPorts } from "./command-line/ports.ts";
import { addProve } from "./command-line/prove.ts";
import { addRebuildIndex } from "./command-line/rebuild-index.ts";
import { addRelease } from "./command-line/release.ts";
import { addReplay } from "./command-line/replay.ts";
import { addRigCheck } from "./command-line/rig-check.ts";
import { addServeBench } from "./command-line/serve-bench.ts";
import { addSettings } from "./command-line/settings.ts";
import { addSoak } from "./command-line/soak.ts";
import { addTell } from "./command-line/tell.ts";
import { addTubes } from "./command-line/tubes.ts";
import { addVerify } from "./command-line/verify.ts";
import { addWalk } from "./command-line/walk.ts";
import { addWrite } from "./command-line/write.ts";
import { EXIT, EXIT_STATUS_HELP } from "./exit-status.ts";
import { packageVersion } from "./package-folder.ts";
import { guardStandardStreams } from "./standard-streams.ts";
import { NoSuchFolder, UsageError } from "./usage-error.ts";

/** Every command, in the order help lists them. */
const COMMANDS: readonly AddCommand[] = [
  addProve,
  addSoak,
  addHowLong,
  addCure,
  addDrift,
  addHand,
  addWalk,
  addRigCheck,
  addAttach,
  addFollow,
  addCheck,
  addExpect,
  addGrade,
  addDraw,
  addGenerate,
  addDivider,
  addCalibrate,
  addBudget,
  addWrite,
  addReplay,
  addTell,
  addPage,
  addExport,
  addHistory,
  addCompare,
  addTubes,
  addNote,
  addRebuildIndex,
  addRelease,
  addVerify,
  addKey,
  addPorts,
  addIdentify,
  addServeBench,
  addConfirmOff,
  addSettings,
  addCompletion,
];

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
  const program = buildProgram({
    streams,
    leave: (left) => {
      status = left;
    },
  });
  try {
    await program.parseAsync([...args], { from: "user" });
  } catch (error) {
    status = statusOfError(error);
    // Any first word that is no command is taken for the folder of a proof.
    if (error instanceof NoSuchFolder && args[0] === error.folder) sayMeantCommand(program, error);
  }
  await streams.flush(clock);
  return status;
}

function sayMeantCommand(program: Command, { folder }: NoSuchFolder): void {
  const meant = nearestName(
    folder,
    program.commands.map((command) => command.name()),
  );
  if (meant !== null) process.stderr.write(`Did you mean "holdfast ${meant}"?\n`);
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

/** The program with all its commands, of which none has run. */
export function buildProgram({ streams, leave }: CommandContext): Command {
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
  for (const add of COMMANDS) add(program, { streams, leave });
  return program;
}
