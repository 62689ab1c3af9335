/** Restarts of the controller since a leg began: those it told of itself, and those its count of boots betrays. */
import type { Bench, BenchEvent, ControllerIdentity } from "../bench/bench.ts";
import type { GoOnAfter } from "../events/soak.ts";
import { type Ending, ending } from "./ending.ts";

type Restarted = Extract<BenchEvent, { kind: "restarted" }>;

/** A pulled cable takes the supply of a controller on the bus with it, and opening the port restarts many once more. */
const RESTARTS_BY_CABLE = 2;
const BY_CABLE = new Set(["EXT", "POR"]);

export class RestartBook {
  #told: Restarted[] = [];

  /** Until the connection is closed; what was heard on another is forgotten. */
  hear(bench: Bench): void {
    const told: Restarted[] = [];
    this.#told = told;
    bench.onEvent((event) => {
      if (event.kind === "restarted") told.push(event);
    });
  }

  /**
   * What speaks against going on by itself, in what a controller that was found again says.
   *
   * @param known as it was when the leg began
   */
  against(
    why: GoOnAfter,
    found: ControllerIdentity,
    known: Pick<ControllerIdentity, "bootCount"> | null,
  ): Ending | null {
    const restarts = known === null ? 0 : found.bootCount - known.bootCount;
    if (why === "mains cut") return this.#isCut(found, restarts) ? null : unknown(found, restarts);
    const isByCable =
      restarts === 0 || (restarts <= RESTARTS_BY_CABLE && BY_CABLE.has(found.resetCause));
    return why === "link lost" && !isByCable ? unknown(found, restarts) : null;
  }

  /** Every restart was told of, and by each its supply had gone; but for one more by opening the port. */
  #isCut({ resetCause }: ControllerIdentity, restarts: number): boolean {
    const told = this.#told;
    if (told.length === 0 || told.some(({ cause }) => cause !== "POR")) {
      return told.length === 0 && restarts === 1 && resetCause === "POR";
    }
    const untold = restarts - told.length;
    return untold === 0 || (untold === 1 && (resetCause === "EXT" || resetCause === "POR"));
  }
}

function unknown({ resetCause }: ControllerIdentity, restarts: number): Ending {
  const times = restarts === 1 ? "once" : `${restarts} times`;
  return ending(
    "controller restarted",
    `the controller restarted ${times} meanwhile (last by ${resetCause}), and nobody knows why`,
  );
}
