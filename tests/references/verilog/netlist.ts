/**
 * A shipped board's stages as a Verilog module, and its sequence as a stimulus. Written straight
 * from the YAML, sharing nothing with src/plan, so that the simulator's answer is independent.
 */
import { parse } from "yaml";

type Levels = Readonly<Record<string, "low" | "high">>;

interface Stage {
  readonly type: string;
  readonly inputs: readonly string[];
  readonly output: string;
}

interface SequenceItem {
  readonly step?: string;
  readonly hold?: string;
  readonly set?: Levels;
  readonly enter?: Levels;
  readonly release?: Levels;
  readonly flip?: { readonly enter: Levels; readonly release: Levels };
  readonly repeat?: number;
  readonly steps?: readonly SequenceItem[];
}

/** One settled state: which lines were moved to reach it, in order. */
interface Stop {
  readonly label: string;
  readonly moves: readonly Levels[];
}

function stopsOf(items: readonly SequenceItem[]): Stop[] {
  return items.flatMap((item): Stop[] => {
    if (item.step !== undefined) return [{ label: item.step, moves: [item.set ?? {}] }];
    if (item.hold !== undefined) {
      const flip = item.flip ?? { enter: {}, release: {} };
      return [
        { label: `${item.hold} / hold`, moves: [item.enter ?? {}, item.release ?? {}] },
        { label: `${item.hold} / flip`, moves: [flip.enter, flip.release] },
      ];
    }
    if (item.repeat !== undefined) {
      return Array.from({ length: item.repeat }, () => stopsOf(item.steps ?? [])).flat();
    }
    return [];
  });
}

export interface VerilogSources {
  readonly verilog: string;
  readonly nets: readonly string[];
  readonly labels: readonly string[];
}

/** Gates of IEEE Std 1364, clause 7; diodes and joints are gates like any other to it. */
function primitiveOf(type: string): string {
  return type.replace(/^(diode|wired)-/, "");
}

/** Verilog text for a board and its sequence; every gate one time unit slow, 1000 to settle. */
export function verilogOf(boardYaml: string, sequenceYaml: string): VerilogSources {
  const board = parse(boardYaml) as { stages: Record<string, Stage> };
  const sequence = parse(sequenceYaml) as { steps: SequenceItem[] };
  const stages = Object.entries(board.stages);
  const nets = [...new Set(stages.map(([, stage]) => stage.output))];
  const isShared = (net: string) => stages.filter(([, stage]) => stage.output === net).length > 1;
  const lines = [...new Set(stages.flatMap(([, stage]) => stage.inputs))].filter(
    (name) => !nets.includes(name),
  );
  const stops = stopsOf(sequence.steps);
  const gates = stages.map(
    ([name, stage]) =>
      `  ${primitiveOf(stage.type)} #1 ${name}(${[stage.output, ...stage.inputs].join(", ")});`,
  );
  const moves = stops.flatMap((stop) => [
    ...stop.moves.map(
      (levels) =>
        `    ${Object.entries(levels)
          .filter(([line]) => lines.includes(line))
          .map(([line, level]) => `${line} = ${level === "high" ? 1 : 0};`)
          .join(" ")} #1000;`,
    ),
    `    $display("${nets.map(() => "%b").join(" ")}", ${nets.join(", ")});`,
  ]);
  const verilog = [
    "`timescale 1us/1us",
    "module board;",
    `  reg ${lines.map((line) => `${line} = 0`).join(", ")};`,
    `  wire ${nets.filter((net) => !isShared(net)).join(", ")};`,
    // Plates that are joined: the simulator's own kind of net that is low when one of its drivers is.
    ...nets.filter(isShared).map((net) => `  wand ${net};`),
    ...gates,
    "  initial begin",
    "    #1000;",
    ...moves,
    "    $finish(0);",
    "  end",
    "endmodule",
    "",
  ].join("\n");
  return { verilog, nets, labels: stops.map((stop) => stop.label) };
}
