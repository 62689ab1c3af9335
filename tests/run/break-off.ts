/** The ways in which a run can be broken off from outside, and what each must end as. */
import type { Rehearsal } from "./rehearse.ts";

export interface Breaking {
  readonly name: string;
  readonly cause: string;
  readonly act: (rehearsal: Rehearsal) => void;
  /** Every rail can still be proved off. */
  readonly provable: boolean;
}

export const breakings: Breaking[] = [
  {
    name: "stop key",
    cause: "stopped by the person",
    act: ({ run }) => run.stop("person", "stop key"),
    provable: true,
  },
  {
    name: "signal, three times",
    cause: "signal",
    act: ({ run }) => {
      for (const signal of ["SIGINT", "SIGINT", "SIGTERM"]) run.stop("signal", signal);
    },
    provable: true,
  },
  {
    name: "trip",
    cause: "trip",
    act: ({ bench }) => bench.trip("plate.board"),
    provable: true,
  },
  {
    name: "restart",
    cause: "controller restarted",
    act: ({ bench }) => bench.restart(),
    provable: true,
  },
  {
    name: "link lost",
    cause: "link lost",
    act: ({ bench }) => bench.loseLink(),
    provable: false,
  },
  {
    name: "disk full",
    cause: "journal fault",
    act: ({ journal, clock }) => {
      journal.fullFromMs = clock.nowMs();
    },
    provable: true,
  },
  {
    name: "uncaught exception",
    cause: "internal fault",
    act: ({ run }) => run.fail(new Error("seeded")),
    provable: true,
  },
];
