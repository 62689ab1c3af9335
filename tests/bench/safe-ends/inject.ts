/**
 * Preloaded into the program under test (`node --import`): on SIGUSR2 it throws where nobody
 * catches, or never gives the event loop back. The program itself has no such hook.
 */
const what = process.env["HOLDFAST_BENCH_INJECT"];

process.on("SIGUSR2", () => {
  if (what === "throw") throw new Error("Thrown on purpose by the safe-ends figure.");
  if (what === "hang") for (;;);
});
