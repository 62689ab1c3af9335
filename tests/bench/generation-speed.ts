/** How long a test takes to make: of every shipped board, and of boards of sixty stages put together by seed. */
import { factsOf, faultsToFind } from "../../src/logic/generate/board/board-test.ts";
import { walkTest } from "../../src/logic/generate/walk-test.ts";
import { compileCircuit } from "../../src/logic/netlist/circuit.ts";
import type { FigureContext } from "./figure.ts";
import { randomBoard } from "./logic/random-board.ts";
import { shippedBoards, shippedTest } from "./logic/shipped-test.ts";

const STAGES = 60;
const SEEDS = 2;
const SEEDS_FULL = 8;
/** Of processor time, as other work may share the machine. */
const SHIPPED_S_MOST = 5;
const SIXTY_S_MOST = 20;

export async function figure({ full, report, say }: FigureContext): Promise<void> {
  for (const name of shippedBoards()) {
    const begun = process.cpuUsage();
    const { facts } = await shippedTest(name);
    const value = secondsSince(begun);
    report({
      name: `generation-speed ${name}`,
      value,
      unit: `s of processor time, ${facts.steps} steps, holds and counts besides`,
      limit: `<= ${SHIPPED_S_MOST}`,
      holds: value <= SHIPPED_S_MOST,
    });
  }
  for (let seed = 1; seed <= (full ? SEEDS_FULL : SEEDS); seed++) {
    const netlist = randomBoard(STAGES, seed);
    const circuit = compileCircuit(netlist);
    const begun = process.cpuUsage();
    const task = {
      circuit,
      lineCount: circuit.inputs.length,
      observed: [...circuit.outputs],
      faults: faultsToFind(circuit),
      seed: 1,
      stepsMost: 500,
    };
    const facts = factsOf(task, walkTest(task));
    const value = secondsSince(begun);
    report({
      name: `generation-speed ${netlist.name}`,
      value,
      unit: `s of processor time, ${circuit.gateOutput.length} stages, ${facts.faults} classes of faults, ${facts.steps} steps`,
      limit: `<= ${SIXTY_S_MOST}`,
      holds: value <= SIXTY_S_MOST,
    });
    const settled = facts.faults - facts.notFound.length;
    report({
      name: `generation-speed ${netlist.name}, faults answered`,
      value: Number(((100 * settled) / facts.faults).toFixed(2)),
      unit: `% of ${facts.faults}: ${facts.found} shown, ${facts.unsure.length} left to chance by the board, ${facts.untestable.length} proved untestable`,
      limit: ">= 99",
      holds: settled >= 0.99 * facts.faults,
    });
    for (const { fault } of facts.notFound) say(`${netlist.name}: not found ${fault}`);
  }
}

function secondsSince(begun: NodeJS.CpuUsage): number {
  const { user, system } = process.cpuUsage(begun);
  return Number(((user + system) / 1e6).toFixed(2));
}
