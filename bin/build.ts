/**
 * Build the program for installing: `npm run build` bundles src into dist, one piece for each part
 * that is loaded only when it is asked for. Packages stay outside and are installed beside it.
 */
import { rmSync } from "node:fs";
import { join, resolve } from "node:path";
import { build, type Plugin } from "esbuild";
import packageJson from "../package.json" with { type: "json" };

/**
 * What the parser of the command line imports and never needs here: commands of other programs are
 * not started, and importing `node:process` opens every standard stream before anyone asks.
 */
const lighterParser: Plugin = {
  name: "lighter parser",
  setup(build) {
    const importer = /node_modules[/\\]commander[/\\]/;
    build.onResolve({ filter: /^node:(process|child_process)$/ }, (found) =>
      importer.test(found.importer) ? { path: found.path, namespace: "lighter" } : null,
    );
    build.onLoad({ filter: /process$/, namespace: "lighter" }, ({ path }) => ({
      contents: path === "node:process" ? "export default process;" : "export default {};",
    }));
  },
};

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
  // Everything but the parser of the command line, which every start needs, and the query builder: one
  // file is read sooner than eight, or three hundred.
  external: Object.keys(packageJson.dependencies).filter(
    (name) => name !== "commander" && name !== "kysely",
  ),
  jsx: "automatic",
  plugins: [lighterParser],
  legalComments: "none",
  logLevel: "warning",
});
