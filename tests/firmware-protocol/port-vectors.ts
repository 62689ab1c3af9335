/**
 * The vectors against a controller on a port: `node --import tsx tests/firmware-protocol/port-vectors.ts PORT`. For a real
 * board with nothing connected to its outputs; lines and rails do switch. Also for `serve-bench`.
 */
import { fitsPort, runOnPort } from "./port-target.ts";
import { loadVectors } from "./vector-runner.ts";

const [path] = process.argv.slice(2);
if (path === undefined) {
  process.stderr.write(
    "Expected a port, such as /dev/ttyUSB0: nothing may be connected to its outputs.\n",
  );
  process.exit(2);
}
const files = loadVectors(new URL("../../firmware-protocol/vectors/", import.meta.url));
let count = 0;
let failures = 0;
let left = 0;
let again = 0;
for (const [file, vectors] of files) {
  for (const vector of vectors) {
    if (!fitsPort(vector)) {
      left += 1;
      continue;
    }
    count += 1;
    try {
      again += (await runOnPort(vector, path)) - 1;
    } catch (error) {
      failures += 1;
      process.stdout.write(`${file}: ${error instanceof Error ? error.message : String(error)}\n`);
    }
  }
}
process.stdout.write(
  `${path}: ${count - failures} of ${count} vectors hold, ${left} need a simulated bench; ${again} runs repeated, late on this machine\n`,
);
process.exitCode = failures === 0 ? 0 : 1;
