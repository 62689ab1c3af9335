/** Arguments in, exit status out, nothing else. */
import { runProgram } from "./commands/program.ts";

process.exit(await runProgram(process.argv.slice(2)));
