import { defineConfig } from "vitest/config";

/** `.ci/run` asks for the results as JSON too, to count them. */
const resultsFile = process.env["HOLDFAST_TEST_RESULTS"];

export default defineConfig({
  test: {
    include: ["tests/**/*.test.ts", "tests/**/*.test.tsx"],
    pool: "forks",
    testTimeout: 60_000,
    reporters:
      resultsFile === undefined ? ["default"] : ["default", ["json", { outputFile: resultsFile }]],
  },
});
