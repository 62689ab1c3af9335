/**
 * Build the program for installing: `npm run build` bundles src into dist, one piece for each part
 * that is loaded only when it is asked for. Packages stay outside and are installed beside it.
 */
import { rmSync } from "node:fs";
import { join, resolve } from "node:path";
import { build } from "esbuild";

const root = resolve(import.meta.dirname, "..");
const outdir = join(root, "dist");
rmSync(outdir, { recursive: true, force: true });
await build({
  absWorkingDir: root,
  entryPoints: ["src/main.ts"],
  outdir,
  bundle: true,
  splitting: true,
  format: "esm",
  platform: "node",
  target: "node22.13",
  packages: "external",
  jsx: "automatic",
  legalComments: "none",
  logLevel: "warning",
});
