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

const COMMANDS: readonly Command[] = [
  ...STATUS_COMMANDS,
  ...POWER_COMMANDS,
  ...MEASURE_COMMANDS,
  ...MEMORY_COMMANDS,
].map(([pattern, run]) => ({
  test: headerTest(pattern),
  isIdentity: pattern === "*IDN?",
  run,
}));

/** A host sends a few dozen headers, each spelled in one way. */
const KNOWN_MAX = 200;
const known = new Map<string, Command>();

/** The command that a header means; undefined when there is none. */
export function commandOf(header: string): Command | undefined {
  const before = known.get(header);
  if (before !== undefined) return before;
  const found = COMMANDS.find(({ test }) => test.test(header));
  if (found !== undefined && known.size < KNOWN_MAX) known.set(header, found);
  return found;
}
