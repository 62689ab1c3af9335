/** Every command of the wire as a modelled controller carries it out (firmware-protocol/PROTOCOL.md, section 5). */
import type { Handler } from "./command.ts";
import { headerTest } from "./command-text.ts";
import { MEASURE_COMMANDS } from "./measure-commands.ts";
import { MEMORY_COMMANDS } from "./memory-commands.ts";
import { POWER_COMMANDS } from "./power-commands.ts";
import { STATUS_COMMANDS } from "./status-commands.ts";

interface Command {
  readonly test: RegExp;
  readonly isIdentity: boolean;
  readonly run: Handler;
}

export const COMMANDS: readonly Command[] = [
  ...STATUS_COMMANDS,
  ...POWER_COMMANDS,
  ...MEASURE_COMMANDS,
  ...MEMORY_COMMANDS,
].map(([pattern, run]) => ({
  test: headerTest(pattern),
  isIdentity: pattern === "*IDN?",
  run,
}));
