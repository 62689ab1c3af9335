/**
 * The house keeps its shape: imports run one way, only named folders touch disk, wire or the real
 * clock, and no file outgrows one job without saying why in its head.
 */
import { readdirSync, readFileSync } from "node:fs";
import { dirname, join, relative, resolve } from "node:path";
import { describe, expect, it } from "vitest";

const root = resolve(import.meta.dirname, "..");
const src = join(root, "src");

/** Lower rank may import higher; the same rank only without a circle. DEVELOPERS.md draws it. */
const rank: Readonly<Record<string, number>> = {
  "main.ts": 0,
  commands: 0,
  screen: 1,
  pictures: 1,
  compose: 1,
  run: 1,
  record: 1,
  history: 1,
  bench: 2,
  simulate: 2,
  journal: 2,
  verdict: 2,
  store: 2,
  measure: 3,
  plan: 3,
  logic: 3,
  formats: 4,
  events: 4,
  clock: 4,
};

const ioModules = /^(node:(fs|net|child_process|tty|os|worker_threads)(\/.*)?|serialport|koffi)$/;
const mayTouchIo = new Set(["main.ts", "commands", "journal", "store", "bench"]);
/** The served bench is itself a wire: a pseudo-terminal with a log beside it. */
const ioExceptions = [/^simulate\/serve\//];
const pure = new Set([
  "pictures",
  "compose",
  "history",
  "formats",
  "measure",
  "verdict",
  "plan",
  "logic",
  "events",
]);

interface Import {
  readonly from: string;
  readonly specifier: string;
  readonly dynamic: boolean;
}

function sourceFiles(folder: string): string[] {
  return readdirSync(folder, { recursive: true, withFileTypes: true })
    .filter((entry) => entry.isFile() && /\.tsx?$/.test(entry.name))
    .map((entry) => join(entry.parentPath, entry.name));
}

function importsOf(file: string): Import[] {
  const text = readFileSync(file, "utf8");
  const found: Import[] = [];
  const statics = /(?:^|\n)\s*(?:import|export)\s[^;"']*?(?:from\s*)?["']([^"']+)["']/g;
  for (const match of text.matchAll(statics)) {
    found.push({ from: file, specifier: match[1] ?? "", dynamic: false });
  }
  for (const match of text.matchAll(/\bimport\(\s*["']([^"']+)["']/g)) {
    found.push({ from: file, specifier: match[1] ?? "", dynamic: true });
  }
  return found;
}

function layerOf(file: string): string {
  return relative(src, file).split("/")[0] ?? "";
}

const files = sourceFiles(src);
const imports = files.flatMap(importsOf);
const inside = imports
  .filter((one) => one.specifier.startsWith("."))
  .map((one) => ({ ...one, target: resolve(dirname(one.from), one.specifier) }))
  // Data that is published for editors and firmware too lies beside src.
  .filter((one) => one.target.startsWith(`${src}/`));

function codeLines(pattern: RegExp, allowed: (path: string) => boolean): string[] {
  return files
    .filter((file) => !allowed(relative(src, file)))
    .flatMap((file) =>
      readFileSync(file, "utf8")
        .split("\n")
        .map((line, index) => ({ line, index }))
        .filter(({ line }) => !/^\s*(\*|\/\/|\/\*)/.test(line) && pattern.test(line))
        .map(({ line, index }) => `${relative(root, file)}:${index + 1}: ${line.trim()}`),
    );
}

describe("layout", () => {
  it("knows every folder under src", () => {
    const unknown = [...new Set(files.map(layerOf))].filter((layer) => !(layer in rank));
    expect(unknown).toEqual([]);
  });

  it("lets imports run one way", () => {
    const upward = inside
      .filter((one) => (rank[layerOf(one.target)] ?? -1) < (rank[layerOf(one.from)] ?? 99))
      .map((one) => `${relative(root, one.from)} imports ${one.specifier}`);
    expect(upward).toEqual([]);
  });

  it("has no circle between folders", () => {
    const edges = new Map<string, Set<string>>();
    for (const one of inside) {
      const [from, to] = [layerOf(one.from), layerOf(one.target)];
      if (from !== to) edges.set(from, (edges.get(from) ?? new Set()).add(to));
    }
    const circles: string[] = [];
    const walk = (layer: string, path: readonly string[]): void => {
      if (path.includes(layer)) circles.push([...path, layer].join(" -> "));
      else for (const next of edges.get(layer) ?? []) walk(next, [...path, layer]);
    };
    for (const layer of edges.keys()) walk(layer, []);
    expect(circles).toEqual([]);
  });

  it("keeps disk and wire to the folders that own them", () => {
    const strays = imports
      .filter((one) => ioModules.test(one.specifier) && !mayTouchIo.has(layerOf(one.from)))
      .filter((one) => !ioExceptions.some((pattern) => pattern.test(relative(src, one.from))))
      .map((one) => `${relative(root, one.from)} imports ${one.specifier}`);
    expect(strays).toEqual([]);
  });

  it("keeps SQL and what speaks it to one folder", () => {
    const strays = imports
      .filter((one) => /^(node:sqlite|kysely)$/.test(one.specifier))
      .filter((one) => !relative(src, one.from).startsWith("store/run-index/"))
      .map((one) => `${relative(root, one.from)} imports ${one.specifier}`);
    expect(strays).toEqual([]);
  });

  it("keeps numerical and format modules free of any node module but hashing", () => {
    const strays = imports
      .filter((one) => pure.has(layerOf(one.from)) && one.specifier.startsWith("node:"))
      .map((one) => `${relative(root, one.from)} imports ${one.specifier}`);
    expect(strays).toEqual([]);
  });

  it("loads the simulation only when it is used", () => {
    const strays = inside
      .filter((one) => layerOf(one.target) === "simulate" && layerOf(one.from) !== "simulate")
      .filter((one) => !one.dynamic)
      .filter((one) => {
        const text = readFileSync(one.from, "utf8");
        return !new RegExp(`import type [^;]*["']${one.specifier.replaceAll(".", "\\.")}["']`).test(
          text,
        );
      })
      .map((one) => `${relative(root, one.from)} imports ${one.specifier}`);
    expect(strays).toEqual([]);
  });

  it("shares no code between the simulated board and the logic that judges it", () => {
    const strays = inside
      .filter((one) => layerOf(one.from) === "simulate")
      .filter((one) => ["verdict", "run", "logic", "plan", "measure"].includes(layerOf(one.target)))
      .map((one) => `${relative(root, one.from)} imports ${one.specifier}`);
    expect(strays).toEqual([]);
  });

  it("reads real time, chance and the environment in clock and commands only", () => {
    const real =
      /\b(Date\.now|new Date\(\)|performance\.now|Math\.random|process\.env|process\.hrtime)\b|(?<![.\w])(setTimeout|setInterval|setImmediate)\(/;
    const allowed = (path: string) => /^(clock|commands)\/|^main\.ts$/.test(path);
    expect(codeLines(real, allowed)).toEqual([]);
  });

  it("has no loose types, silent catches or unfinished marks", () => {
    const loose =
      /(: any\b|as any\b|@ts-ignore|@ts-expect-error|catch\s*\{\s*\}|catch\s*\(\w*\)\s*\{\s*\}|TODO|FIXME|XXX)/;
    expect(codeLines(loose, () => false)).toEqual([]);
  });

  it("names files in kebab case and never by a catch-all word", () => {
    const odd = files
      .map((file) => relative(root, file))
      .filter(
        (file) =>
          !/^[a-z0-9./-]+\.tsx?$/.test(file) || /(utils?|misc|common|helpers?)\.tsx?$/.test(file),
      );
    expect(odd).toEqual([]);
  });

  it("keeps a file under 400 lines unless its head says why not", () => {
    const outgrown = files
      .filter((file) => readFileSync(file, "utf8").split("\n").length > 400)
      .filter((file) => !/Longer than most/.test(readFileSync(file, "utf8").slice(0, 1500)))
      .map((file) => relative(root, file));
    expect(outgrown).toEqual([]);
  });
});
