import { defineConfig } from "vitest/config";

export default defineConfig({
  test: {
    include: ["tests/**/*.test.ts", "tests/**/*.test.tsx"],
    pool: "forks",
    testTimeout: 60_000,
    reporters: ["default"],
  },
});
