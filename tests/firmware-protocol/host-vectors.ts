/**
 * The vectors against the firmware in other hands than the emulated bench's: the host build (`make host`) in
 * virtual time, and the committed binary on libsimavr (`make simavr`). A script and no part of
 * `npm test`, because it needs compilers: `make vectors` runs it.
 */
import { readFileSync } from "node:fs";
import { fileURLToPath } from "node:url";
import { ProcessTarget } from "./process-target.ts";
import { loadVectors, runVector } from "./vector-runner.ts";

const firmware = new URL("../../firmware-protocol/firmware/", import.meta.url);
const path = (name: string) => fileURLToPath(new URL(name, firmware));

interface Implementation {
  readonly name: string;
  readonly open: () => ProcessTarget;
  /** Vectors it cannot do, with the reason. */
  readonly cannot: Readonly<Record<string, string>>;
}

const simavrCannot = JSON.parse(
  readFileSync(new URL("simavr-cannot.json", import.meta.url), "utf8"),
) as { readonly vectors: Readonly<Record<string, string>> };

const implementations: readonly Implementation[] = [
  { name: "host build", open: () => new ProcessTarget(path("build/holdfast-host")), cannot: {} },
  {
    name: "libsimavr",
    open: () => new ProcessTarget(path("build/holdfast-simavr"), [path("holdfast.hex")]),
    cannot: simavrCannot.vectors,
  },
];

const asked = process.argv.slice(2);
const files = loadVectors(new URL("../../firmware-protocol/vectors/", import.meta.url));
for (const { name, open, cannot } of implementations) {
  if (asked.length > 0 && !asked.includes(name)) continue;
  let count = 0;
  let left = 0;
  const failures: string[] = [];
  for (const [file, vectors] of files) {
    for (const vector of vectors) {
      if (vector.name in cannot) {
        left += 1;
        continue;
      }
      count += 1;
      const target = open();
      try {
        await runVector(vector, target);
      } catch (error) {
        failures.push(`${file}: ${error instanceof Error ? error.message : String(error)}`);
      } finally {
        target.close();
      }
    }
  }
  for (const failure of failures) process.stdout.write(`${name}: ${failure}\n`);
  const except = left === 0 ? "" : `, ${left} left out by name`;
  process.stdout.write(`${name}: ${count - failures.length} of ${count} vectors hold${except}\n`);
  if (failures.length > 0) process.exitCode = 1;
}
